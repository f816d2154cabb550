package logfile

import (
	"math"
	"slices"

	"daytank/planner/idletest"
)

const (
	sortWithin = 1000  // rows
	mostRows   = 24000 // kept before neighbours are averaged
)

// lane is a time column with the channels that go by it: it puts the rows in order,
// makes those of one time one row, and keeps them.
type lane struct {
	time     int // column
	width    int // channels
	sameTime string

	// Rows that wait for earlier ones: order holds places in times, lines and values.
	order  []int
	base   []int // where order begins anew
	free   []int
	times  []float64
	lines  []int
	values []float64
	counts []float64 // of values averaged at one time
	last   float64   // time of the last row kept

	outOfOrder, collapsed, merged int
	firstOut                      int // line of the first that was out of order

	// Rows kept, block by block.
	t     []float64
	v     [][]float64
	block int
	sumT  float64
	sum   []float64
	n     []float64
	inOne int
	steps []float64 // resolutions from before averaging
}

func newLane(timeColumn int, sameTime string) *lane {
	return &lane{time: timeColumn, sameTime: sameTime, last: math.Inf(-1), block: 1}
}

// sized makes room for so many channels.
func (l *lane) sized() {
	l.times, l.lines = make([]float64, sortWithin+1), make([]int, sortWithin+1)
	l.values, l.counts = make([]float64, (sortWithin+1)*l.width), make([]float64, (sortWithin+1)*l.width)
	l.base, l.free = make([]int, 0, 4*(sortWithin+1)), make([]int, 0, sortWithin+1)
	l.order = l.base
	for i := range sortWithin + 1 {
		l.free = append(l.free, i)
	}
	l.v = make([][]float64, l.width)
	l.sum, l.n, l.steps = make([]float64, l.width), make([]float64, l.width), make([]float64, l.width)
}

func (l *lane) row(place int) []float64 { return l.values[place*l.width : (place+1)*l.width] }

// push takes a row. Roles are those of the channels, for an error.
func (l *lane) push(t float64, row []float64, line int, roles []Role) error {
	at := len(l.order)
	if at > 0 && t <= l.times[l.order[at-1]] {
		at = l.place(t)
		if at < len(l.order) && l.times[l.order[at]] == t {
			return l.merge(l.order[at], row, line, roles)
		}
	}
	if t <= l.last {
		return refuse(line, "sort the rows by time", "the time goes back by more than %d rows", sortWithin)
	}
	if len(l.free) == 0 {
		l.emit()
		if at > 0 {
			at--
		}
	}
	place := l.free[len(l.free)-1]
	l.free = l.free[:len(l.free)-1]
	l.times[place], l.lines[place] = t, line
	copy(l.row(place), row)
	if l.sameTime != "" {
		clear(l.counts[place*l.width : (place+1)*l.width])
	}
	if at < len(l.order) {
		l.outOfOrder++
		if l.firstOut == 0 {
			l.firstOut = line
		}
		l.order = slices.Insert(l.order, at, place)
		return nil
	}
	if len(l.order) == cap(l.order) { // the front has moved on: go back to the beginning
		l.order = append(l.base[:0], l.order...)
	}
	l.order = append(l.order, place)
	return nil
}

// place gives where a time belongs in the order: the first that is not before it.
func (l *lane) place(t float64) int {
	at, _ := slices.BinarySearchFunc(l.order, t, func(place int, t float64) int {
		switch {
		case l.times[place] < t:
			return -1
		case l.times[place] > t:
			return 1
		}
		return 0
	})
	return at
}

// merge puts a row into one of the same time: each channel may have one value there.
func (l *lane) merge(place int, row []float64, line int, roles []Role) error {
	kept, added := l.row(place), false
	for i, v := range row {
		switch {
		case math.IsNaN(v) || v == kept[i] && l.sameTime == "":
		case math.IsNaN(kept[i]):
			kept[i], added = v, true
		case l.sameTime == "mean":
			n := &l.counts[place*l.width+i]
			*n = max(*n, 1)
			kept[i] += (v - kept[i]) / (*n + 1)
			*n++
		default:
			return refuse(line, "let one of the rows go, or say --same-time mean to average them",
				"%s has two values at one time: %g here and %g in line %d", roles[i], v, kept[i], l.lines[place])
		}
	}
	if added {
		l.merged++
	} else {
		l.collapsed++
	}
	return nil
}

// emit keeps the earliest row that waits.
func (l *lane) emit() {
	place := l.order[0]
	l.order = l.order[1:]
	l.free = append(l.free, place)
	l.last = l.times[place]
	row := l.row(place)
	if l.block == 1 {
		if len(l.t) < mostRows {
			l.grow()
			l.t = append(l.t, l.times[place])
			for i, v := range row {
				l.v[i] = append(l.v[i], v)
			}
			return
		}
		l.halve()
	}
	l.sumT += l.times[place]
	for i, v := range row {
		if v == v { // not missing
			l.sum[i] += v
			l.n[i]++
		}
	}
	if l.inOne++; l.inOne == l.block {
		l.endBlock()
		if len(l.t) == mostRows {
			l.halve()
		}
	}
}

// grow makes room by doubling: what is left behind is then no more than what is kept.
func (l *lane) grow() {
	if len(l.t) < cap(l.t) {
		return
	}
	room := min(mostRows, max(1024, 2*cap(l.t))) - len(l.t)
	l.t = slices.Grow(l.t, room)
	for i := range l.v {
		l.v[i] = slices.Grow(l.v[i], room)
	}
}

func (l *lane) endBlock() {
	if l.inOne == 0 {
		return
	}
	l.t = append(l.t, l.sumT/float64(l.inOne))
	for i := range l.v {
		l.v[i] = append(l.v[i], l.sum[i]/l.n[i]) // missing where nothing was there
		l.sum[i], l.n[i] = 0, 0
	}
	l.sumT, l.inOne = 0, 0
}

// halve averages neighbouring blocks, so that blocks are twice as long.
func (l *lane) halve() {
	if l.block == 1 {
		for i, v := range l.v {
			l.steps[i] = idletest.Step(present(v[:min(len(v), 4096)]))
		}
	}
	half := len(l.t) / 2
	for i := range half {
		l.t[i] = (l.t[2*i] + l.t[2*i+1]) / 2
		for _, v := range l.v {
			a, b := v[2*i], v[2*i+1]
			switch {
			case math.IsNaN(a):
				v[i] = b
			case math.IsNaN(b):
				v[i] = a
			default:
				v[i] = (a + b) / 2
			}
		}
	}
	l.t = l.t[:half]
	for i := range l.v {
		l.v[i] = l.v[i][:half]
	}
	l.block *= 2
}

func present(v []float64) []float64 {
	return slices.DeleteFunc(slices.Clone(v), math.IsNaN)
}

// finish keeps all that waits.
func (l *lane) finish() {
	for len(l.order) > 0 {
		l.emit()
	}
	l.endBlock()
}

// series gives a channel without what is missing.
func (l *lane) series(channel int) idletest.Series {
	s := idletest.Series{Step: l.steps[channel]}
	if !slices.ContainsFunc(l.v[channel], math.IsNaN) {
		s.T, s.V = l.t, l.v[channel]
		return s
	}
	for i, v := range l.v[channel] {
		if !math.IsNaN(v) {
			s.Add(l.t[i], v)
		}
	}
	return s
}
