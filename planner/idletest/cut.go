package idletest

import (
	"math"
	"slices"
	"sort"
)

// window is a stretch of time, both ends in it.
type window struct{ from, to float64 }

// offSpeed gives the stretches in which the speed averaged over 10 s lies more than
// 25 rpm off its level: the median of the whole test. A cold engine's idle falls as
// it warms; there the level is the median over the two minutes about each moment.
// That a rough idle wavers about its level cuts nothing.
func offSpeed(speed Series, state State) []window {
	if speed.Len() < 3 {
		return nil
	}
	whole := median(speed.V)
	level := func(int) float64 { return whole }
	if state == Cold {
		near := movingMedian(speed, coldSpeedWindow/2)
		level = func(i int) float64 { return near[i] }
	}
	var found []window
	mean := movingMean(speed, speedWindow/2)
	for i := range speed.T {
		if math.Abs(mean[i]-level(i)) <= speedOff {
			continue
		}
		from, to := speed.T[i], speed.T[i]
		if i > 0 {
			from = (speed.T[i-1] + from) / 2
		}
		if i+1 < speed.Len() {
			to = (to + speed.T[i+1]) / 2
		}
		if k := len(found) - 1; k >= 0 && from <= found[k].to {
			found[k].to = to
			continue
		}
		found = append(found, window{from, to})
	}
	return found
}

// movingMean gives, at each sample, the mean of those within so many seconds of it.
func movingMean(s Series, reach float64) []float64 {
	mean := make([]float64, s.Len())
	first, end, sum := 0, 0, 0.0
	for i, t := range s.T {
		for end < s.Len() && s.T[end] <= t+reach {
			sum += s.V[end]
			end++
		}
		for s.T[first] < t-reach {
			sum -= s.V[first]
			first++
		}
		mean[i] = sum / float64(end-first)
	}
	return mean
}

// movingMedian gives, at each sample, the median of those within so many seconds of
// it. Where samples are many it is taken at every twentieth part of the reach.
func movingMedian(s Series, reach float64) []float64 {
	at := make([]float64, s.Len())
	last, lastAt := math.NaN(), math.Inf(-1)
	first, end := 0, 0
	for i, t := range s.T {
		if t-lastAt >= reach/20 {
			for end < s.Len() && s.T[end] <= t+reach {
				end++
			}
			for s.T[first] < t-reach {
				first++
			}
			last, lastAt = median(s.V[first:end]), t
		}
		at[i] = last
	}
	return at
}

// allZero gives the stretches of at least three samples in which every channel is
// exactly zero: the balancing was off, not perfect.
func allZero(channels []Series) []window {
	if len(channels) == 0 {
		return nil
	}
	common := zeroRuns(channels[0])
	for _, s := range channels[1:] {
		common = overlap(common, zeroRuns(s))
	}
	return common
}

func zeroRuns(s Series) []window {
	var runs []window
	for i := 0; i < s.Len(); i++ {
		j := i
		for j < s.Len() && s.V[j] == 0 {
			j++
		}
		if j-i >= zerosInARow {
			runs = append(runs, window{s.T[i], s.T[j-1]})
		}
		i = max(i, j-1)
	}
	return runs
}

// overlap gives what two lists of stretches have in common.
func overlap(a, b []window) []window {
	var common []window
	for i, j := 0, 0; i < len(a) && j < len(b); {
		from, to := max(a[i].from, b[j].from), min(a[i].to, b[j].to)
		if from <= to {
			common = append(common, window{from, to})
		}
		if a[i].to < b[j].to {
			i++
		} else {
			j++
		}
	}
	return common
}

// joined gives stretches in order, those that touch as one.
func joined(lists ...[]window) []window {
	all := slices.Concat(lists...)
	sort.Slice(all, func(i, j int) bool { return all[i].from < all[j].from })
	var out []window
	for _, w := range all {
		if k := len(out) - 1; k >= 0 && w.from <= out[k].to {
			out[k].to = max(out[k].to, w.to)
			continue
		}
		out = append(out, w)
	}
	return out
}

// part is what is left of a series after cutting.
type part struct {
	Series
	idle     float64 // s between neighbours that both stay
	interval float64 // s, median of those
	longest  float64 // s, longest of those
	at       float64 // s where it begins
	pieces   int     // stretches that cutting left
}

// within counts the samples in the stretches.
func (s Series) within(windows []window) int {
	n := 0
	for _, w := range windows {
		from, _ := slices.BinarySearch(s.T, w.from)
		to, found := slices.BinarySearch(s.T, w.to)
		if n += to - from; found {
			n++
		}
	}
	return n
}

// without cuts the stretches out of a series.
func (s Series) without(windows []window) part {
	p := part{}
	whole := len(windows) == 0
	if whole {
		p.Series = s // nothing is changed in it
	}
	intervals := make([]float64, 0, s.Len())
	w, before := 0, false // whether the sample before stays
	for i, t := range s.T {
		for w < len(windows) && windows[w].to < t {
			// What lies between two samples is cut as well, though no sample falls into it.
			if i > 0 && windows[w].from > s.T[i-1] {
				before = false
			}
			w++
		}
		if w < len(windows) && windows[w].from <= t {
			before = false
			continue
		}
		if before {
			d := t - s.T[i-1]
			p.idle += d
			intervals = append(intervals, d)
			if d > p.longest {
				p.longest, p.at = d, s.T[i-1]
			}
		} else {
			p.pieces++
		}
		if !whole {
			p.Add(t, s.V[i])
		}
		before = true
	}
	if len(intervals) > 0 {
		p.interval = median(intervals)
	}
	return p
}
