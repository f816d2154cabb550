package idletest

import "math"

// Side is one cylinder in one phase.
type Side struct {
	Moments
	EffectiveN float64  `json:"n_eff"`
	SE         float64  `json:"se"`
	Half       float64  `json:"half_95"`             // half of the 95 % interval of the mean
	Recentred  *float64 `json:"recentred,omitempty"` // less the mean over the cylinders, where that is off zero
}

// runOf is one run of a phase brought down to what repeats are pooled from.
type runOf struct {
	side     []Side
	variance []float64
	parts    [][]part2 // of the variance, by channel
}

// part2 is a part of a variance with its degrees of freedom.
type part2 struct{ variance, df float64 }

// hotRun takes a run as it stands.
func hotRun(r Reduced) runOf {
	var run runOf
	for _, c := range r.channels {
		run.side = append(run.side, Side{Moments: c.Moments, EffectiveN: c.nEff, SE: math.Sqrt(c.variance)})
		run.variance = append(run.variance, c.variance)
		run.parts = append(run.parts, []part2{{c.variance, c.nEff - 1}})
	}
	return run
}

// bins are a cold run's channels by coolant temperature: the samples of each bin, by
// channel, and in order of time which bin each sample is in.
type bins struct {
	values []map[int][]float64
	order  [][]int
}

// binned sorts a cold run's samples by the coolant at their time.
func binned(r Reduced) bins {
	var b bins
	for _, c := range r.channels {
		byBin, order := map[int][]float64{}, make([]int, 0, c.Len())
		coolant := r.coolant.nearest()
		for i, t := range c.T {
			bin := int(math.Floor(coolant(t) / binWidth))
			byBin[bin] = append(byBin[bin], c.V[i])
			order = append(order, bin)
		}
		b.values, b.order = append(b.values, byBin), append(b.order, order)
	}
	return b
}

// sharedBins gives the bins in which every channel of every run has enough samples.
func sharedBins(all []bins) map[int]bool {
	shared := map[int]bool{}
	for bin := range all[0].values[0] {
		enough := true
		for _, b := range all {
			for _, channel := range b.values {
				enough = enough && len(channel[bin]) >= binSamples
			}
		}
		if enough {
			shared[bin] = true
		}
	}
	return shared
}

// coldRun takes a run at the shared coolant temperatures: the mean of the bins'
// means, its variance from theirs, the correlation from what is left about them.
func coldRun(r Reduced, b bins, shared map[int]bool) runOf {
	var run runOf
	k := float64(len(shared))
	for i, c := range r.channels {
		means := map[int]float64{}
		mean := 0.0
		for bin := range shared {
			means[bin] = meanOf(b.values[i][bin])
		}
		for _, bin := range inOrder(shared) {
			mean += means[bin] / k
		}
		var rest []float64 // what is left of the samples about their bin's mean
		for n, bin := range b.order[i] {
			if shared[bin] {
				rest = append(rest, c.V[n]-means[bin])
			}
		}
		squares, lagged := sumsAbout(rest, func(int) float64 { return 0 })
		m := Moments{N: len(rest), Mean: mean}
		if squares > 0 {
			m.Lag1 = lagged / squares
			m.SD = math.Sqrt(squares / max(1, float64(len(rest))-k))
		}
		side := Side{Moments: m}
		var parts []part2
		sum := 0.0
		for _, bin := range inOrder(shared) {
			x := b.values[i][bin]
			nEff := EffectiveN(len(x), m.Lag1)
			side.EffectiveN += nEff
			sd := MomentsOf(x).SD
			parts = append(parts, part2{sd * sd / nEff / (k * k), nEff - 1})
			sum += sd * sd / nEff / (k * k)
		}
		total := sum + c.step*c.step/12
		side.SE = math.Sqrt(total)
		if sum == 0 {
			parts = []part2{{total, side.EffectiveN - 1}}
		} else { // the resolution widens each part alike
			for n := range parts {
				parts[n].variance *= total / sum
			}
		}
		run.side = append(run.side, side)
		run.variance = append(run.variance, total)
		run.parts = append(run.parts, parts)
	}
	return run
}

func inOrder(set map[int]bool) []int {
	var low, high int
	first := true
	for b := range set {
		if first || b < low {
			low = b
		}
		if first || b > high {
			high = b
		}
		first = false
	}
	var out []int
	for b := low; b <= high && !first; b++ {
		if set[b] {
			out = append(out, b)
		}
	}
	return out
}

// pooled is what repeats say of the scatter from run to run.
type pooled struct {
	variance float64 // of one run's mean
	df       float64
}

// pool takes the larger of the variance of the run means, pooled over cylinders and
// phases, and of the mean of the runs' own variances.
func pool(phases ...[]runOf) pooled {
	var squares, own, df, count float64
	for _, runs := range phases {
		if len(runs) == 0 {
			continue
		}
		for c := range runs[0].side {
			mean := 0.0
			for _, run := range runs {
				mean += run.side[c].Mean / float64(len(runs))
				own += run.variance[c]
				count++
			}
			for _, run := range runs {
				squares += (run.side[c].Mean - mean) * (run.side[c].Mean - mean)
			}
			df += float64(len(runs) - 1)
		}
	}
	p := pooled{variance: own / count, df: df}
	if df > 0 {
		p.variance = max(p.variance, squares/df)
	}
	return p
}

// merged gives one phase: the mean of its run means. With repeats the standard error
// is that of the runs.
func merged(runs []runOf, repeats bool, p pooled) []Side {
	sides := make([]Side, len(runs[0].side))
	for c := range sides {
		s := &sides[c]
		weight := 1 / float64(len(runs))
		squares, free := 0.0, 0.0
		for _, run := range runs {
			x := run.side[c]
			s.N += x.N
			s.Mean += x.Mean * weight
			s.Lag1 += x.Lag1 * weight
			s.EffectiveN += x.EffectiveN
			squares += x.SD * x.SD * float64(x.N-1)
			free += float64(x.N - 1)
			s.SE = x.SE
		}
		if free > 0 {
			s.SD = math.Sqrt(squares / free)
		}
		if repeats {
			s.SE = math.Sqrt(p.variance * weight)
		}
	}
	return sides
}
