package idletest

import "math"

// Course is how a test went: means of stretches of it, by minutes where it was hot,
// by coolant temperature where it was cold.
type Course struct {
	By        string      `json:"by"` // "min" or "degC"
	At        []float64   `json:"at"` // beginnings of the stretches
	Width     float64     `json:"width"`
	Cylinders [][]float64 `json:"cylinders"` // by cylinder, then stretch
	Load      []float64   `json:"load"`      // percent; empty: not recorded
	Coolant   []float64   `json:"coolant"`   // °C; empty: not recorded
}

// mostStretches is how many a course has at most.
const mostStretches = 10

// Course gives how the test went. A stretch without a value of a channel is NaN in it.
func (r Reduced) Course() Course {
	if len(r.channels) == 0 || r.Measure.Single() {
		return Course{}
	}
	key, c := r.stretches()
	mean := func(s Series) []float64 {
		if s.Len() == 0 {
			return nil
		}
		sums, counts := make([]float64, len(c.At)), make([]float64, len(c.At))
		for i, t := range s.T {
			if k := key(t); k >= 0 && k < len(c.At) {
				sums[k] += s.V[i]
				counts[k]++
			}
		}
		for k := range sums {
			sums[k] /= counts[k]
		}
		return sums
	}
	for _, channel := range r.channels {
		c.Cylinders = append(c.Cylinders, mean(channel.Series))
	}
	c.Load, c.Coolant = mean(r.test.Samples.Load), mean(r.coolant)
	return c
}

// stretches gives which stretch a time is in, and the course without its values.
func (r Reduced) stretches() (key func(t float64) int, c Course) {
	if r.State == Cold && r.coolant.Len() > 0 {
		low, high := math.Inf(1), math.Inf(-1)
		for _, v := range r.coolant.V {
			low, high = min(low, v), max(high, v)
		}
		c.By, c.Width = "degC", binWidth*math.Ceil((high-low)/binWidth/mostStretches+0.1)
		first := math.Floor(low / c.Width)
		for k := first; k <= math.Floor(high/c.Width); k++ {
			c.At = append(c.At, k*c.Width)
		}
		at := r.coolant.nearest()
		return func(t float64) int { return int(math.Floor(at(t)/c.Width) - first) }, c
	}
	last := 0.0
	for _, channel := range r.channels {
		if n := channel.Len(); n > 0 {
			last = max(last, channel.T[n-1])
		}
	}
	c.By, c.Width = "min", math.Max(1, math.Ceil(last/60/mostStretches-0.05))
	for at := 0.0; at == 0 || at*60 < last; at += c.Width {
		c.At = append(c.At, at)
	}
	return func(t float64) int { return min(int(t/60/c.Width), len(c.At)-1) }, c
}
