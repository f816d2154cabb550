package logfile

import (
	"bytes"
	"slices"
	"strings"
	"unicode/utf8"
)

// How far the guess looks.
const (
	headerWithin = 50  // lines
	previewLines = 200 // lines of numbers that the guess looks at
)

// Column is one column of a log.
type Column struct {
	Number  int      `json:"column"` // from 1
	Name    string   `json:"name"`   // as the header has it, without its unit
	Unit    string   `json:"unit"`   // as the header or the row of units has it; empty: none
	Role    Role     `json:"as"`     // what it is taken as; empty: not taken
	Preview []string `json:"preview"`
	Header  string   `json:"header"` // the whole cell of the header

	clock Clock    // of a time
	cells []string // those of the preview that are not empty
	texts int      // of these are no numbers
}

// Layout is how a log is built, as far as its beginning tells.
type Layout struct {
	Encoding   string   `json:"encoding"`
	Separator  string   `json:"separator"`
	Mark       string   `json:"decimal_mark"`
	HeaderLine int      `json:"header_line"` // 0: none
	UnitLine   int      `json:"unit_line"`   // 0: none
	FirstLine  int      `json:"first_line"`  // of numbers
	Columns    []Column `json:"columns"`
	Doubts     []string `json:"doubts"` // why it has to be asked; none: the guess is certain
	Assumed    []string `json:"assumed"`

	separator, mark byte
	header          []byte // the line, to know repetitions of it
	widest          int    // cells of the header, empty ones at its end as well
	either          []ambiguity
}

// headLine is a line at the beginning of a log.
type headLine struct {
	number int
	text   []byte
	note   bool // begins with a sign of a comment
}

// mostColumns is how many columns a log may have.
const mostColumns = 500

// look guesses the layout from the lines at the beginning, all of which are whole.
func look(lines []headLine) (Layout, error) {
	l := Layout{Doubts: []string{}, Assumed: []string{}}
	first, err := l.findSeparator(lines)
	if err != nil {
		return l, err
	}
	data := lines[first:]
	l.FirstLine = data[0].number
	if err := l.findMark(data); err != nil {
		return l, err
	}
	names, units := l.findHeader(lines[:first], len(cells(data[0].text, l.separator)))
	width := len(cells(data[0].text, l.separator))
	if width > mostColumns {
		return l, refuse(l.FirstLine, "export fewer: time, coolant, idle speed and the corrections are enough", "%d columns, and at most %d are read", width, mostColumns)
	}
	if names != nil && len(names) > width {
		return l, refuse(l.FirstLine, "columns cannot be told apart; export the log again, or write the missing cells",
			"%d cells, but the header in line %d names %d columns", width, l.HeaderLine, len(names))
	}
	if names == nil {
		names = make([]string, width)
	}
	l.widest = max(l.widest, len(names))
	l.nameColumns(names, units, data)
	return l, l.takeRoles()
}

// findSeparator finds what separates the cells, and the first line of numbers.
func (l *Layout) findSeparator(lines []headLine) (first int, err error) {
	best, most := -1, 1
	for _, separator := range []byte{'\t', ';', '|', ','} {
		at, width := firstNumbers(lines, separator)
		if at >= 0 && width > most {
			best, most, l.separator = at, width, separator
		}
	}
	if best >= 0 {
		l.Separator = map[byte]string{'\t': "tab", ';': ";", '|': "|", ',': ","}[l.separator]
		return best, nil
	}
	if len(lines) == 0 {
		return 0, refuse(0, "choose another file", "it is empty")
	}
	for _, line := range lines {
		for _, separator := range []byte{'\t', ';', '|', ','} {
			known := 0
			for _, cell := range cells(line.text, separator) {
				name, _, _ := takeUnit(cell)
				if guess(name) != "" {
					known++
				}
			}
			if known >= 2 {
				return 0, refuse(line.number, "choose a log with values in it", "a header, and no row of numbers follows it")
			}
		}
	}
	return 0, refuse(0, "export the log as text with one row a reading, its header within the first 50 lines",
		"no row of numbers within the first %d lines", headerWithin)
}

// firstNumbers gives the first line that is a row of numbers and is followed by
// others as wide, and how many cells it has; -1: none.
func firstNumbers(lines []headLine, separator byte) (at, width int) {
	for i, line := range lines[:min(len(lines), headerWithin+1)] {
		row := cells(line.text, separator)
		if line.note || !ofNumbers(row) {
			continue
		}
		alike, others := 0, 0
		for _, next := range lines[i+1 : min(len(lines), i+11)] {
			cells := cells(next.text, separator)
			if next.note || blank(cells) {
				continue
			}
			if ofNumbers(cells) && len(cells) == len(row) {
				alike++
			} else {
				others++
			}
		}
		if alike >= others { // a single odd row is for the reading to refuse
			return i, len(row)
		}
	}
	return -1, 0
}

func blank(row []string) bool {
	return !slices.ContainsFunc(row, func(cell string) bool { return cell != "" })
}

// ofNumbers tells whether a row holds numbers, mostly.
func ofNumbers(row []string) bool {
	numeric, filled := 0, 0
	for _, cell := range row {
		if cell == "" {
			continue
		}
		filled++
		if numeral(cell) || clockOf(cell) != "" || isMissing(cell) {
			numeric++
		}
	}
	return numeric >= 2 && numeric*2 >= filled || numeric == 1 && filled == 1 && len(row) > 2
}

// numeral tells whether a cell is a number with either mark.
func numeral(cell string) bool {
	if _, ok := numberIn(cell, '.'); ok {
		return true
	}
	_, ok := numberIn(cell, ',')
	return ok
}

// findMark finds the decimal mark of the rows of numbers. Where it separates cells a
// comma is none.
func (l *Layout) findMark(data []headLine) error {
	l.mark, l.Mark = '.', "point"
	points, commas := 0, 0
	for _, line := range data[:min(len(data), previewLines)] {
		for _, cell := range cells(line.text, l.separator) {
			if !numeral(cell) {
				continue
			}
			if strings.Contains(cell, ".") {
				points = line.number
			}
			if strings.Contains(cell, ",") {
				commas = line.number
			}
		}
	}
	if points > 0 && commas > 0 {
		return mixedMarks(max(points, commas))
	}
	if commas > 0 && l.separator != ',' {
		l.mark, l.Mark = ',', "comma"
	}
	if commas > 0 && l.separator == ',' {
		l.mark, l.Mark = ',', "comma" // in quotes
	}
	return nil
}

func mixedMarks(line int) error {
	return refuse(line, "write all numbers with one decimal mark, and none to group thousands", "decimal points and decimal commas are mixed")
}

// findHeader finds, above the first line of numbers, the line of names and the line
// of units. Either may be missing.
func (l *Layout) findHeader(above []headLine, width int) (names, units []string) {
	best, unitAt := -1, -1
	known, unitCells := 0, 0
	for i, line := range above {
		row := cells(line.text, l.separator)
		trimmed := trimEmpty(row)
		if len(trimmed) < 2 || len(row) < width-1 && len(trimmed) < width/2 {
			continue
		}
		roles, named, filled := 0, 0, 0
		for _, cell := range trimmed {
			name, _, _ := takeUnit(cell)
			if guess(name) != "" {
				roles++
			}
			if cell != "" {
				filled++
			}
			if unitNamed(strings.Trim(cell, "[]()")) != "" {
				named++
			}
		}
		switch {
		case named*3 >= filled*2 && named > roles:
			if named > unitCells {
				unitAt, unitCells = i, named
			}
		case roles > known || best < 0 || roles == known && roles == 0:
			best, known = i, roles
		}
	}
	if best >= 0 {
		row := cells(above[best].text, l.separator)
		l.HeaderLine, l.header, l.widest = above[best].number, bytes.Clone(above[best].text), len(row)
		names = trimEmpty(row)
	}
	if unitAt >= 0 {
		l.UnitLine = above[unitAt].number
		units = cells(above[unitAt].text, l.separator)
	}
	return names, units
}

func trimEmpty(row []string) []string {
	for len(row) > 0 && strings.Trim(row[len(row)-1], " ()[]") == "" {
		row = row[:len(row)-1]
	}
	return row
}

// nameColumns makes the columns.
func (l *Layout) nameColumns(names, units []string, data []headLine) {
	for i, header := range names {
		name, unit, _ := takeUnit(header)
		if i < len(units) && unit == "" {
			unit = strings.Trim(units[i], "[]() ")
			if known := unitNamed(unit); known != "" {
				unit = known
			}
		}
		c := Column{Number: i + 1, Name: name, Unit: unit, Header: header, Preview: []string{}}
		for _, line := range data[:min(len(data), previewLines)] {
			row := cells(line.text, l.separator)
			if i >= len(row) || row[i] == "" {
				continue
			}
			c.cells = append(c.cells, row[i])
			if len(c.Preview) < 3 {
				c.Preview = append(c.Preview, valid(row[i]))
			}
			if !numeral(row[i]) && !isMissing(row[i]) && clockOf(row[i]) == "" {
				c.texts++
			}
		}
		l.Columns = append(l.Columns, c)
	}
}

// valid makes text of bytes in whatever encoding.
func valid(text string) string {
	if utf8.ValidString(text) {
		return text
	}
	out := make([]rune, 0, len(text))
	for _, b := range []byte(text) {
		out = append(out, rune(b)) // Latin-1
	}
	return string(out)
}
