package logfile

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"slices"
	"sync/atomic"
	"unicode/utf8"

	"daytank/planner/idletest"
)

// Reader reads one log.
type Reader struct {
	source *lineSource
	layout Layout
	ahead  []headLine // lines that the guess has seen and that are not yet read
}

// Open looks at the beginning of a log. It gives an [Error] where the log is none
// that can be read.
func Open(r io.Reader) (*Reader, error) {
	source, encoding, err := newLineSource(r)
	if err != nil {
		return nil, err
	}
	reader := &Reader{source: source}
	var lines []headLine
	size := 0
	for len(lines) < headerWithin+previewLines && size < previewSize {
		text, err := source.next()
		if err != nil {
			return nil, err
		}
		if text == nil {
			break
		}
		if bytes.IndexByte(text, 0) >= 0 {
			return nil, binary(source.line)
		}
		size += len(text)
		line := headLine{number: source.line, text: bytes.Clone(text)}
		reader.ahead = append(reader.ahead, line)
		if encoding == "" && !utf8.Valid(text) {
			encoding = "Latin-1"
		}
		if encoding == "Latin-1" {
			line.text = []byte(valid(string(line.text)))
		}
		if bare, note := comment(line.text); note {
			line.text, line.note = bare, true
		}
		if len(bytes.TrimSpace(line.text)) > 0 {
			lines = append(lines, line)
		}
	}
	if encoding == "" {
		encoding = "UTF-8"
	}
	layout, err := look(lines)
	if err != nil {
		return nil, err
	}
	layout.Encoding = encoding
	reader.layout = layout
	return reader, layout.checkUnits()
}

// Layout gives what the beginning tells.
func (r *Reader) Layout() Layout { return r.layout }

func binary(line int) error {
	return refuse(line, "choose a log: text, one row a line", "bytes that are no text: is this file binary or damaged?")
}

// comment takes the sign of a comment off a line.
func comment(line []byte) ([]byte, bool) {
	trimmed := bytes.TrimSpace(line)
	for _, sign := range []string{"#", "//", "%"} {
		if bytes.HasPrefix(trimmed, []byte(sign)) {
			return bytes.TrimSpace(bytes.TrimLeft(trimmed, sign)), true
		}
	}
	return line, false
}

// target is what becomes of a column's cells.
type target struct {
	lane    int  // -1: not taken
	at      int  // place in a row; what is not taken goes to the last, which nobody reads
	time    bool // of the lane
	clocked bool // a time that is no plain number
	unit    unit
	usual   usual
	clock   Clock
}

// anything is the range of what is not judged.
var anything = usual{math.Inf(-1), math.Inf(1)}

// Read reads the rows by the layout with the mapping on it, and reduces them to the
// samples of a test. With doubts left it refuses.
func (r *Reader) Read(m Mapping) (*Log, error) {
	layout, err := r.layout.With(m)
	if err != nil {
		return nil, err
	}
	if len(layout.Doubts) > 0 {
		return nil, &Doubtful{Layout: layout}
	}
	p := &pass{layout: layout}
	if err := p.prepare(m); err != nil {
		return nil, err
	}
	sorted := p.sort()
	err = r.rows(p)
	if wrong := sorted(); wrong != nil { // of a row before the one that err is about
		err = wrong
	}
	if err != nil {
		return nil, err
	}
	return p.finish()
}

// rows reads all rows, those that the guess has seen first.
func (r *Reader) rows(p *pass) error {
	for _, line := range r.ahead {
		if line.number < p.layout.FirstLine {
			continue
		}
		whole := line.number < r.source.line || r.source.whole
		if err := p.take(line.text, line.number, whole); err != nil {
			return err
		}
	}
	r.ahead = nil
	for !p.stopped.Load() {
		line, err := r.source.next()
		if err != nil || line == nil {
			return err
		}
		if err := p.take(line, r.source.line, r.source.whole); err != nil {
			return err
		}
	}
	return nil
}

// Doubtful says that the guess is not certain and has to be settled by a mapping.
type Doubtful struct{ Layout Layout }

// Error gives the first doubt.
func (d *Doubtful) Error() string { return d.Layout.Doubts[0] }

// pass is one reading of the rows. What cells say is read by one goroutine, what is
// to be kept is put in order by another: batches of rows go between them.
type pass struct {
	layout  Layout
	targets []target
	lanes   []*lane
	roles   [][]Role  // of the lanes' channels
	starts  []int     // of the lanes in a row: time, then channels
	stride  int       // numbers in a row
	row     []float64 // at hand, in the batch
	batch   *batch
	full    chan *batch
	empty   chan *batch
	stopped atomic.Bool
	width   int // cells that every row has
	textAt  int // the one column of free text; -1: none
	summary Summary
	reject  map[rejection]*Rejected
	order   []rejection
	clocks  []float64 // days added to the lanes' clocks, in seconds
	lastAt  []float64
}

// batch is some rows, one behind the other.
type batch struct {
	rows  []float64
	lines []int
	n     int
}

const batchRows = 256

type rejection struct {
	column int
	reason string
}

// prepare says what becomes of each column.
func (p *pass) prepare(m Mapping) error {
	columns := p.layout.Columns
	p.targets = make([]target, max(len(columns), p.layout.widest)+1)
	for i := range p.targets {
		p.targets[i] = target{lane: -1, unit: unit{"", 1, 0}, usual: anything}
	}
	for i, c := range columns { // lanes first: a channel goes by the time to its left, or the first
		if c.Role == Time {
			p.lanes = append(p.lanes, newLane(i, m.SameTime))
			p.roles = append(p.roles, nil)
		}
	}
	p.textAt = p.freeText()
	at := 0
	for n, l := range p.lanes {
		p.starts = append(p.starts, at)
		c := columns[l.time]
		unit, err := Time.convert(c.Unit)
		if err != nil {
			return err
		}
		p.targets[l.time] = target{lane: n, at: at, time: true, clocked: c.clock != Decimal, unit: unit, usual: anything, clock: c.clock}
		p.summary.Columns = append(p.summary.Columns, Taken{Column: c.Number, Name: c.Header, As: Time, Unit: timeUnit(c), Converted: convertedFrom(c.Unit, "s")})
		at++
		for i, c := range columns {
			if c.Role == "" || c.Role == Time || p.laneOf(i) != n {
				continue
			}
			unit, err := c.Role.convert(c.Unit)
			if err != nil {
				return err
			}
			p.targets[i] = target{lane: n, at: at, unit: unit, usual: c.Role.usual(unit.name)}
			p.roles[n] = append(p.roles[n], c.Role)
			p.summary.Columns = append(p.summary.Columns, Taken{Column: c.Number, Name: c.Header, As: c.Role, Unit: unit.name, Converted: convertedFrom(c.Unit, unit.name)})
			at++
			l.width++
		}
		l.sized()
		p.clocks, p.lastAt = append(p.clocks, 0), append(p.lastAt, math.Inf(-1))
	}
	for i := range p.targets {
		if p.targets[i].lane < 0 {
			p.targets[i].at = at
		}
	}
	at++
	p.full, p.empty = make(chan *batch, 2), make(chan *batch, 3)
	for range 3 {
		p.empty <- &batch{rows: make([]float64, at*batchRows), lines: make([]int, batchRows)}
	}
	p.batch = <-p.empty
	p.stride, p.row = at, p.batch.rows[:at]
	slices.SortFunc(p.summary.Columns, func(a, b Taken) int { return a.Column - b.Column })
	p.width = len(columns)
	p.reject = map[rejection]*Rejected{}
	p.summary.Rejected, p.summary.Notes, p.summary.Channels = []Rejected{}, slices.Clone(p.layout.Assumed), []Channel{}
	return nil
}

// laneOf gives the lane that a column goes by.
func (p *pass) laneOf(column int) int {
	lane := 0
	for i, l := range p.lanes {
		if l.time < column {
			lane = i
		}
	}
	return lane
}

// sort puts rows in order as they come. What it gives ends that, and says what was
// wrong with a row.
func (p *pass) sort() (end func() error) {
	ended := make(chan error, 1)
	go func() {
		var wrong error
		for b := range p.full {
			for i := 0; i < b.n && wrong == nil; i++ {
				row := b.rows[i*p.stride : (i+1)*p.stride]
				if wrong = p.push(row, b.lines[i]); wrong != nil {
					p.stopped.Store(true)
				}
			}
			b.n = 0
			p.empty <- b
		}
		ended <- wrong
	}()
	return func() error {
		p.full <- p.batch
		close(p.full)
		return <-ended
	}
}

// push hands a row to the lanes.
func (p *pass) push(row []float64, line int) error {
	for i, l := range p.lanes {
		at := p.starts[i]
		if math.IsNaN(row[at]) {
			continue
		}
		if err := l.push(row[at], row[at+1:at+1+l.width], line, p.roles[i]); err != nil {
			return err
		}
	}
	return nil
}

func timeUnit(c Column) string {
	if c.clock == Decimal || c.clock == "" {
		return "s"
	}
	return string(c.clock)
}

func convertedFrom(header, is string) string {
	if header == "" || header == is {
		return ""
	}
	return header
}

// freeText gives the one column that holds text and is not taken: a comma without
// quotes in it can be told from one that separates. -1: none, or several.
func (p *pass) freeText() int {
	found := -1
	for i, c := range p.layout.Columns {
		if c.Role == "" && c.texts > 0 && c.texts*2 >= len(c.cells) {
			if found >= 0 {
				return -1
			}
			found = i
		}
	}
	return found
}

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
// stopped before and where that begins; -1 where the line is read to its end.
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

func (p *pass) cutShort(number int) {
	p.summary.Notes = append(p.summary.Notes, fmt.Sprintf("the last line, %d, breaks off and was left out", number))
}

// rejected counts what was not taken. Column -1 is a whole line.
func (p *pass) rejected(column int, reason string, number int) {
	key := rejection{column, reason}
	if r := p.reject[key]; r != nil {
		r.Count++
		return
	}
	r := &Rejected{Reason: reason, Count: 1, FirstLine: number}
	if column >= 0 && column < len(p.layout.Columns) {
		r.Column = p.layout.Columns[column].Header
		r.As = p.layout.Columns[column].Role
	}
	p.reject[key] = r
	p.order = append(p.order, key)
}

// finish puts the lanes together.
func (p *pass) finish() (*Log, error) {
	log := &Log{Layout: p.layout, Summary: p.summary}
	samples := &log.Samples
	most := 0
	for _, roles := range p.roles {
		for _, r := range roles {
			most = max(most, r.Cylinder())
		}
	}
	samples.Corrections = make([]idletest.Series, most)
	from := math.Inf(1)
	for i, l := range p.lanes {
		l.finish()
		if len(l.t) > 0 {
			from = min(from, l.t[0])
		}
		for k, role := range p.roles[i] {
			*place(samples, role) = l.series(k)
		}
		log.Summary.lane(l)
	}
	if p.summary.Rows == 0 {
		return nil, refuse(0, "choose a log with values in it", "there are no rows of values")
	}
	start := started(samples.Speed)
	if !math.IsInf(start, -1) {
		log.Summary.cutStart(samples, start)
		from = max(from, start)
	}
	rebase(samples, from)
	for _, key := range p.order {
		log.Summary.Rejected = append(log.Summary.Rejected, *p.reject[key])
	}
	log.Summary.channels(samples, p.roles)
	return log, log.empty()
}

// place gives where a role's samples belong: roles are the names of the channels.
func place(s *idletest.Samples, role Role) *idletest.Series {
	for _, c := range s.Channels() {
		if c.Name == string(role) {
			return c.Series
		}
	}
	panic("a role without a channel: " + string(role)) // every role but the time has one
}

const running = 100 // 1/min; below it an engine does not run (own judgement)

// started gives when the engine began to run, -Inf where it ran from the first row.
func started(speed idletest.Series) float64 {
	for i, v := range speed.V {
		if v >= running {
			if i == 0 {
				return math.Inf(-1)
			}
			return speed.T[i]
		}
	}
	return math.Inf(-1)
}

// rebase lets time begin at 0. Series may share their times.
func rebase(s *idletest.Samples, from float64) {
	done := map[*float64]bool{}
	for _, c := range s.Channels() {
		x := c.Series
		if len(x.T) == 0 || done[&x.T[0]] || from == 0 {
			continue
		}
		done[&x.T[0]] = true
		for i := range x.T {
			x.T[i] -= from
		}
	}
}
