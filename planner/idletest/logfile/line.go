package logfile

import (
	"bytes"
	"fmt"
	"math"
	"slices"
)

// take takes one line of the file.
func (p *pass) take(line []byte, number int, whole bool) error {
	p.clear()
	filled, count, err := p.parse(line, number, whole)
	if err != nil || !filled {
		return err
	}
	if count != p.width {
		again, err := p.odd(line, count, number, whole)
		if err != nil || !again {
			return err
		}
	}
	p.summary.Rows++
	for i, at := range p.starts {
		if math.IsNaN(p.row[at]) && (len(p.lanes) == 1 || p.holds(i)) {
			p.rejected(p.lanes[i].time, "no time", number)
		}
	}
	p.batch.lines[p.batch.n] = number
	if p.batch.n++; p.batch.n == batchRows {
		p.full <- p.batch
		p.batch = <-p.empty
	}
	from := p.batch.n * p.stride
	p.row = p.batch.rows[from : from+p.stride]
	return nil
}

// clear makes the row at hand empty.
func (p *pass) clear() {
	for i := range p.row {
		p.row[i] = math.NaN()
	}
}

// holds tells whether the row at hand has a value in a lane.
func (p *pass) holds(lane int) bool {
	at := p.starts[lane]
	return slices.ContainsFunc(p.row[at+1:at+1+p.lanes[lane].width], func(v float64) bool { return !math.IsNaN(v) })
}

// parse reads the cells of a line into the rows. It gives whether the line holds a
// row at all, and how many cells it has.
func (p *pass) parse(line []byte, number int, whole bool) (filled bool, count int, err error) {
	separator := p.layout.separator
	if len(line) > 0 && !numberBegins(line[0]) && p.aside(line, number) {
		return false, 0, nil
	}
	last := len(p.targets) - 1
	at := 0
	for column := 0; ; column++ {
		next, stopped := p.fast(line, column, at, number)
		if next > column {
			filled = true
		}
		if stopped < 0 {
			return filled, next, nil
		}
		column, at = next, stopped
		t := &p.targets[min(column, last)]
		text, end, ok := cellEnd(line[at:], separator)
		if !ok {
			if !whole {
				p.cutShort(number)
				return false, 0, nil
			}
			return false, 0, refuse(number, "close the quote, and keep a cell on one line", "a quoted cell has no end")
		}
		if len(text) > 0 {
			filled = true
			if err := p.cell(t, column, string(text), number); err != nil {
				return false, 0, err
			}
		}
		if at += end; at >= len(line) { // without anything in it: blank, or separators only
			return filled, column + 1, nil
		}
		at++
	}
}

// fast reads cells that are nothing but decimal numbers of at most 15 digits, which
// is nearly all there is in a log, from a column on. It gives the column that it
// stopped before and where that begins; -1 where the line is read to its end. It is one
// function because calls within its loop were 8 % slower when measured.
func (p *pass) fast(line []byte, column, at, number int) (next, stopped int) {
	separator, mark, row, targets := p.layout.separator, p.layout.mark, p.row, p.targets
	i := at
	for {
		t := &targets[min(column, len(targets)-1)]
		begin := i
		for i < len(line) && line[i] == ' ' {
			i++
		}
		negative := false
		if i < len(line) && (line[i] == '-' || line[i] == '+') {
			negative = line[i] == '-'
			i++
		}
		mantissa, digits, behind := uint64(0), i, 0
		for i < len(line) {
			d := line[i] - '0'
			if d > 9 {
				break
			}
			mantissa = mantissa*10 + uint64(d)
			i++
		}
		digits = i - digits
		if i < len(line) && line[i] == mark {
			i++
			first := i
			for i < len(line) {
				d := line[i] - '0'
				if d > 9 {
					break
				}
				mantissa = mantissa*10 + uint64(d)
				i++
			}
			behind = i - first
			digits += behind
		}
		for i < len(line) && line[i] == ' ' {
			i++
		}
		if digits < 1 || digits > 15 || (i < len(line) && line[i] != separator) || t.clocked {
			return column, begin
		}
		x := float64(mantissa)
		if behind > 0 {
			x /= powers[behind] // both are exact, so the quotient is the nearest there is
		}
		if negative {
			x = -x
		}
		if x = x*t.unit.factor + t.unit.offset; x >= t.usual.low && x <= t.usual.high {
			row[t.at] = x
		} else {
			p.rejected(column, t.usual.text(t.unit.name), number)
		}
		column++
		if i >= len(line) {
			return column, -1
		}
		i++
	}
}

func numberBegins(c byte) bool {
	return c-'0' <= 9 || c == '-' || c == '+' || c == ' ' || c == '.' || c == ','
}

// aside tells whether a line is no row: a comment, or the header again.
func (p *pass) aside(line []byte, number int) bool {
	if _, is := comment(line); is {
		p.rejected(-1, "comment", number)
		return true
	}
	if len(p.layout.header) > 0 && bytes.Equal(bytes.TrimSpace(line), bytes.TrimSpace(p.layout.header)) {
		p.rejected(-1, "the header again", number)
		return true
	}
	return false
}

// put takes a number.
func (p *pass) put(t *target, column int, x float64, number int) {
	x = x*t.unit.factor + t.unit.offset
	if x < t.usual.low || x > t.usual.high {
		p.rejected(column, t.usual.text(t.unit.name), number)
		return
	}
	p.row[t.at] = x
}

// cell takes a cell that is not plain.
func (p *pass) cell(t *target, column int, text string, number int) error {
	if bytes.IndexByte([]byte(text), 0) >= 0 {
		return binary(number)
	}
	if t.lane < 0 {
		return nil
	}
	if t.clocked {
		return p.clock(t, column, text, number)
	}
	if isMissing(text) {
		p.rejected(column, "says that there is no value", number)
		return nil
	}
	if x, ok := numberIn(text, p.layout.mark); ok {
		p.put(t, column, x, number)
		return nil
	}
	if otherMark(text, p.layout.mark) {
		return mixedMarks(number)
	}
	p.rejected(column, "text", number)
	return nil
}

// clock takes a time that is written as a clock. A clock that goes back by more than
// twelve hours has passed midnight.
func (p *pass) clock(t *target, column int, text string, number int) error {
	x, ok := clocked(text, t.clock)
	if !ok {
		p.rejected(column, "no time", number)
		return nil
	}
	if t.clock == HourClock || t.clock == HourMinute {
		const day = 86400
		x += p.clocks[t.lane]
		if x < p.lastAt[t.lane]-day/2 {
			p.clocks[t.lane] += day
			x += day
		}
		p.lastAt[t.lane] = x
	}
	p.row[t.at] = x
	return nil
}

// odd judges a row with more or fewer cells than the header. It gives whether the row
// was taken.
func (p *pass) odd(line []byte, count, number int, whole bool) (bool, error) {
	row := cells(line, p.layout.separator)
	trimmed := len(trimEmpty(slices.Clone(row)))
	switch {
	case count > p.width && (trimmed <= p.width || count <= p.layout.widest):
		return true, nil // separators at the end
	case count < p.width && !whole:
		p.cutShort(number)
		return false, nil
	case count > p.width && p.textAt >= 0 && p.layout.separator == ',':
		return p.aroundText(row, number)
	case count > p.width && p.layout.separator == ',' && count >= 2*p.width-1:
		return false, refuse(number, "export the log with a semicolon between the cells, or with decimal points",
			"%d cells, but the header has %d: is the comma the decimal mark as well as what separates?", count, p.width)
	}
	return false, refuse(number, "write the row whole, or take it out", "%d cells, but the header has %d", count, p.width)
}

// aroundText takes a row in which free text holds separators: what is before the text
// counts from the left, what is behind it from the right.
func (p *pass) aroundText(row []string, number int) (bool, error) {
	surplus := len(row) - p.width
	p.clear()
	for column, t := range p.targets[:p.width] {
		at := column
		if column > p.textAt {
			at += surplus
		}
		if column == p.textAt || row[at] == "" {
			continue
		}
		if !t.time || t.clock == Decimal {
			if x, ok := numberIn(row[at], p.layout.mark); ok && t.lane >= 0 {
				p.put(&t, column, x, number)
				continue
			}
		}
		if err := p.cell(&t, column, row[at], number); err != nil {
			return false, err
		}
	}
	p.rejected(-1, fmt.Sprintf("a comma in the text of column %d, taken as part of it", p.textAt+1), number)
	return true, nil
}
