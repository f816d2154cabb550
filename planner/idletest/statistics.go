package idletest

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
)

// Moments are what a series comes down to: how many values, their mean, their
// standard deviation (divisor n−1) and their lag-1 autocorrelation.
type Moments struct {
	N    int     `json:"n"`
	Mean float64 `json:"mean"`
	SD   float64 `json:"sd"`
	Lag1 float64 `json:"lag1"`
}

// MomentsOf reduces a series in two passes, so that a small scatter about a large
// mean keeps its digits. The autocorrelation is the sum of lagged products over the
// sum of squares, both about one mean (NIST Statistical Reference Datasets); it is 0
// where nothing varies. Without values everything is 0.
func MomentsOf(x []float64) Moments {
	m := Moments{N: len(x)}
	if m.N == 0 {
		return m
	}
	m.Mean = meanOf(x)
	squares, lagged := sumsAbout(x, func(int) float64 { return m.Mean })
	if m.N > 1 {
		m.SD = math.Sqrt(squares / float64(m.N-1))
	}
	if squares > 0 {
		m.Lag1 = lagged / squares
	}
	return m
}

// meanOf gives the mean with the rounding of the first pass made good.
func meanOf(x []float64) float64 {
	var sum, rest float64
	for _, v := range x {
		sum += v
	}
	mean := sum / float64(len(x))
	for _, v := range x {
		rest += v - mean
	}
	return mean + rest/float64(len(x))
}

// sumsAbout gives the sum of squares and of lagged products about a centre, which
// may differ from value to value.
func sumsAbout(x []float64, centre func(i int) float64) (squares, lagged float64) {
	before := 0.0
	for i, v := range x {
		d := v - centre(i)
		squares += d * d
		lagged += d * before
		before = d
	}
	return squares, lagged
}

// EffectiveN gives how many independent values n correlated ones are worth:
// n (1−r)/(1+r) for a lag-1 autocorrelation r > 0, else n (Zwiers & von Storch
// 1995, J. Climate 8). Below about 30 it is itself uncertain.
func EffectiveN(n int, r float64) float64 {
	if r <= 0 {
		return float64(n)
	}
	return float64(n) * (1 - r) / (1 + r)
}

// Step gives the resolution of a channel: the smallest difference between two
// different values; 0 where all are equal.
func Step(x []float64) float64 {
	sorted := slices.Sorted(slices.Values(x))
	step := 0.0
	for i := 1; i < len(sorted); i++ {
		// Values of equal text are equal; what the last bits differ by is no step.
		if d := sorted[i] - sorted[i-1]; d > 1e-9*math.Abs(sorted[i]) && (step == 0 || d < step) {
			step = d
		}
	}
	return step
}

// VarianceOfMean gives the square of the standard error of a mean: what n_eff leaves of
// the scatter, and the resolution, which averaging does not remove.
func VarianceOfMean(sd, nEff, step float64) float64 {
	if nEff <= 0 {
		return math.Inf(1)
	}
	return sd*sd/nEff + step*step/12
}

// Satterthwaite gives the degrees of freedom of a sum of squared standard errors,
// each with its own (Satterthwaite 1946). Where nothing scatters it is the sum of
// all.
func Satterthwaite(variances, freedoms []float64) float64 {
	var sum, below, all float64
	for i, v := range variances {
		df := max(1, freedoms[i]) // less than one value too many tells nothing of a scatter
		sum += v
		below += v * v / df
		all += df
	}
	if below == 0 {
		return all
	}
	return sum * sum / below
}

// TwoSided gives the p of a t at so many degrees of freedom.
func TwoSided(t, df float64) float64 {
	return min(1, 2*tail(-math.Abs(t), df))
}

// tail gives the probability of a value at or below t.
func tail(t, df float64) float64 {
	switch {
	case math.IsInf(t, -1):
		return 0
	case math.IsInf(t, 1):
		return 1
	}
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: df}.CDF(t)
}

// quantile gives the t below which a part of the distribution lies.
func quantile(part, df float64) float64 {
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: df}.Quantile(part)
}

// ratio gives x/se; where se is 0, infinity with the sign of x, or 0.
func ratio(x, se float64) float64 {
	if se == 0 {
		if x == 0 {
			return 0
		}
		return math.Inf(int(math.Copysign(1, x)))
	}
	return x / se
}

// Equivalence gives the p of two one-sided tests of a change at ±margin (Schuirmann
// 1987, J. Pharmacokin. Biopharm. 15): below 0.05 the change is shown to be smaller.
func Equivalence(change, se, df, margin float64) float64 {
	above := 1 - tail(ratio(change+margin, se), df)
	if t := ratio(change+margin, se); t > 0 {
		above = tail(-t, df) // as exact as a small one has to be
	}
	return max(above, tail(ratio(change-margin, se), df))
}

// Holm adjusts p values for having asked so often (Holm 1979, Scand. J. Statist. 6).
// The order is kept.
func Holm(p []float64) []float64 {
	order := make([]int, len(p))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		switch {
		case p[a] < p[b]:
			return -1
		case p[a] > p[b]:
			return 1
		}
		return 0
	})
	adjusted, sofar := make([]float64, len(p)), 0.0
	for rank, i := range order {
		sofar = max(sofar, min(1, float64(len(p)-rank)*p[i]))
		adjusted[i] = sofar
	}
	return adjusted
}

// TheilSen gives the median of the slopes between all pairs of points with different
// x, and the line's height at x = 0: the median of y less the slope times the median
// of x (Sen 1968, J. Amer. Statist. Assoc. 63). Without two such points it is NaN.
func TheilSen(x, y []float64) (slope, height float64) {
	var slopes []float64
	for i := range x {
		for j := i + 1; j < len(x); j++ {
			if x[i] != x[j] {
				slopes = append(slopes, (y[j]-y[i])/(x[j]-x[i]))
			}
		}
	}
	if len(slopes) == 0 {
		return math.NaN(), math.NaN()
	}
	slope = median(slopes)
	return slope, median(y) - slope*median(x)
}

// median gives the middle value; x is not changed. It is NaN of nothing.
func median(x []float64) float64 {
	if len(x) == 0 {
		return math.NaN()
	}
	sorted := slices.Sorted(slices.Values(x))
	half := len(sorted) / 2
	if len(sorted)%2 == 1 {
		return sorted[half]
	}
	return (sorted[half-1] + sorted[half]) / 2
}
