package bay

import "strings"

// glyphRows is the height of a block character in dots.
const glyphRows = 5

// glyphs are the block characters, a row of dots a word.
var glyphs = map[rune]string{
	'0': "### #.# #.# #.# ###",
	'1': ".#. ##. .#. .#. ###",
	'2': "### ..# ### #.. ###",
	'3': "### ..# ### ..# ###",
	'4': "#.# #.# ### ..# ..#",
	'5': "### #.. ### ..# ###",
	'6': "### #.. ### #.# ###",
	'7': "### ..# ..# .#. .#.",
	'8': "### #.# ### #.# ###",
	'9': "### #.# ### ..# ###",
	':': ". # . # .",
	'-': "... ... ### ... ...",
	' ': ".. .. .. .. ..",
	'A': "### #.# ### #.# #.#",
	'D': "##. #.# #.# #.# ##.",
	'E': "### #.. ##. #.. ###",
	'F': "### #.. ##. #.. #..",
	'G': "### #.. #.# #.# ###",
	'H': "#.# #.# ### #.# #.#",
	'K': "#.# #.# ##. #.# #.#",
	'I': "### .#. .#. .#. ###",
	'L': "#.. #.. #.. #.. ###",
	'M': "#...# ##.## #.#.# #...# #...#",
	'N': "#..# ##.# #.## #..# #..#",
	'O': "### #.# #.# #.# ###",
	'P': "### #.# ### #.. #..",
	'R': "##. #.# ##. #.# #.#",
	'S': "### #.. ### ..# ###",
	'T': "### .#. .#. .#. .#.",
	'W': "#...# #...# #.#.# ##.## #...#",
	'?': "### ..# .#. ... .#.",
	'Y': "#.# #.# .#. .#. .#.",
}

// dots draws a text of block characters, one column of dots between two; what
// has no block character is left out.
func dots(text string) [glyphRows]string {
	var rows [glyphRows]string
	for _, r := range text {
		glyph, ok := glyphs[r]
		if !ok {
			continue
		}
		for i, row := range strings.Fields(glyph) {
			if rows[i] != "" {
				rows[i] += "."
			}
			rows[i] += row
		}
	}
	return rows
}

// most is how much wider than high a dot may be drawn, in cells; a cell is about
// twice as high as wide.
const most = 4

// enlarged draws a text as large as a width and a height allow, each dot a block
// of cells. Where even the smallest does not fit there are no lines.
func enlarged(text string, width, height int) []string {
	rows := dots(text)
	high := height / glyphRows
	if len(rows[0]) == 0 || high == 0 || width < len(rows[0]) {
		return nil
	}
	wide := min(width/len(rows[0]), most*high)
	high = min(high, max(1, wide))
	var lines []string
	for _, row := range rows {
		line := strings.NewReplacer(".", strings.Repeat(" ", wide), "#", strings.Repeat("█", wide)).Replace(row)
		for range high {
			lines = append(lines, strings.TrimRight(line, " "))
		}
	}
	return lines
}

// halved draws a text in three lines, two rows of dots to a line.
func halved(text string) []string {
	rows := dots(text)
	lines := make([]string, 0, (glyphRows+1)/2)
	for i := 0; i < glyphRows; i += 2 {
		var b strings.Builder
		for j := range rows[i] {
			upper, lower := rows[i][j] == '#', i+1 < glyphRows && rows[i+1][j] == '#'
			b.WriteString(map[[2]bool]string{
				{false, false}: " ", {true, false}: "▀", {false, true}: "▄", {true, true}: "█",
			}[[2]bool{upper, lower}])
		}
		lines = append(lines, strings.TrimRight(b.String(), " "))
	}
	return lines
}

// filling draws words as large as a width and a height allow: beside each other,
// or below each other where that makes them larger. There is always something,
// if only the words as they are.
func filling(width, height int, words ...string) []string {
	best := enlarged(strings.Join(words, " "), width, height)
	if each := (height - len(words) + 1) / len(words); len(words) > 1 && each > 0 {
		var below []string
		for i, word := range words {
			if i > 0 {
				below = append(below, "")
			}
			below = append(below, enlarged(word, width, each)...)
		}
		if cells(below) > cells(best) {
			best = below
		}
	}
	if len(best) == 0 {
		return []string{strings.Join(words, " ")}
	}
	return best
}

func cells(lines []string) int { return strings.Count(strings.Join(lines, ""), "█") }
