package logfile

import (
	"fmt"
	"math"
	"slices"
	"sync/atomic"

	"daytank/planner/idletest"
)

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
