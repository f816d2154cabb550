//go:build unix

package bay

import (
	"fmt"
	"strings"
	"testing"
	"unicode/utf8"
)

// grid is what stands on a terminal: enough of one for what the screen library
// writes. What it does not know it shows, so that a test sees it.
type grid struct {
	columns, rows int
	x, y          int
	cells         [][]rune
	behind        [][]rune // the ordinary screen, while the other one is shown
	part          []byte   // of a sequence that is not whole yet
}

func newGrid(columns, rows int) grid {
	return grid{columns: columns, rows: rows, cells: blank(columns, rows)}
}

func blank(columns, rows int) [][]rune {
	cells := make([][]rune, rows)
	for i := range cells {
		cells[i] = []rune(strings.Repeat(" ", columns))
	}
	return cells
}

func (g *grid) String() string {
	lines := make([]string, len(g.cells))
	for i, row := range g.cells {
		lines[i] = strings.TrimRight(string(row), " ")
	}
	return strings.Join(lines, "\n")
}

func (g *grid) write(b []byte) {
	b = append(g.part, b...)
	g.part = nil
	for len(b) > 0 {
		n := g.step(b)
		if n == 0 {
			g.part = append([]byte(nil), b...)
			return
		}
		b = b[n:]
	}
}

// step takes one character or sequence and gives its length, 0 if it is not
// whole.
func (g *grid) step(b []byte) int {
	switch b[0] {
	case '\r':
		g.x = 0
	case '\n':
		g.down()
	case '\b':
		g.x = max(0, g.x-1)
	case '\a':
	case 0x1b:
		return g.sequence(b)
	default:
		if !utf8.FullRune(b) {
			return 0
		}
		r, n := utf8.DecodeRune(b)
		g.put(r)
		return n
	}
	return 1
}

func (g *grid) put(r rune) {
	if g.x >= g.columns {
		g.x = 0
		g.down()
	}
	g.cells[g.y][g.x] = r
	g.x++
}

func (g *grid) down() {
	if g.y < g.rows-1 {
		g.y++
		return
	}
	copy(g.cells, g.cells[1:])
	g.cells[g.rows-1] = []rune(strings.Repeat(" ", g.columns))
}

func (g *grid) sequence(b []byte) int {
	if len(b) < 2 {
		return 0
	}
	if b[1] != '[' {
		return 2
	}
	for i := 2; i < len(b); i++ {
		if b[i] >= '@' && b[i] <= '~' {
			g.control(string(b[2:i]), b[i])
			return i + 1
		}
	}
	return 0
}

func (g *grid) control(arguments string, kind byte) {
	n, m := 1, 1
	fmt.Sscanf(arguments, "%d;%d", &n, &m)
	switch kind {
	case 'H':
		g.y, g.x = min(n, g.rows)-1, min(m, g.columns)-1
	case 'A':
		g.y = max(0, g.y-n)
	case 'K':
		from := g.x
		if arguments == "2" {
			from = 0
		}
		for i := from; i < g.columns; i++ {
			g.cells[g.y][i] = ' '
		}
	case 'J':
		first := g.y
		if arguments == "2" {
			first = 0
		}
		for i := first; i < g.rows; i++ {
			g.cells[i] = []rune(strings.Repeat(" ", g.columns))
		}
	case 'h', 'l':
		g.mode(arguments, kind == 'h')
	case 'm':
	default:
		for _, r := range "<" + arguments + string(kind) + ">" {
			g.put(r)
		}
	}
}

// mode changes between the ordinary screen and the other one.
func (g *grid) mode(which string, on bool) {
	if which != "?1049" {
		return
	}
	if on {
		g.behind, g.cells = g.cells, blank(g.columns, g.rows)
		return
	}
	if g.behind != nil && len(g.behind) == g.rows {
		g.cells, g.behind = g.behind, nil
	}
}

func TestGrid(t *testing.T) {
	g := newGrid(6, 3)
	g.write([]byte("one\r\ntwo\x1b[?1049h\x1b[H\x1b[1mthree\x1b[m\x1b["))
	g.write([]byte("2;2Hx\x1b[K"))
	if got := g.String(); got != "three\n x\n" {
		t.Errorf("got %q", got)
	}
	g.write([]byte("\x1b[?1049l\x1b[A!\x1b[9z"))
	if got := g.String(); got != "on!<9z\n>wo\n" { // what it does not know is shown
		t.Errorf("got %q", got)
	}
}
