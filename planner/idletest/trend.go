package idletest

import (
	"math"
	"slices"
)

// Point is a test in the life of an engine.
type Point struct {
	X   float64 // km, h or days, rising
	RMS float64
}

// Trend is how the spread goes with use. From five points on it has a slope.
type Trend struct {
	Slope   *float64 `json:"slope"`   // of the spread, per km, h or day (Theil-Sen)
	P       *float64 `json:"p"`       // that there is no trend (Mann-Kendall, two-sided)
	Reaches *float64 `json:"reaches"` // where the line meets the limit, beyond the last point; nil: cannot be said
}

// trendPoints is how many points a slope takes.
const trendPoints = 5

// TrendOf gives the trend of points. That the limit would be reached is said only
// where the spread rises beyond chance (Mann 1945, Econometrica 13; Kendall, Rank
// Correlation Methods: normal approximation with a correction for ties), and within
// three times the distance that the points cover.
func TrendOf(points []Point, limit float64) Trend {
	var t Trend
	if len(points) < trendPoints {
		return t
	}
	var x, y []float64
	for _, p := range points {
		x, y = append(x, p.X), append(y, p.RMS)
	}
	slope, height := TheilSen(x, y)
	if math.IsNaN(slope) {
		return t
	}
	p := mannKendall(x, y)
	t.Slope, t.P = &slope, &p
	last, first := slices.Max(x), slices.Min(x)
	if at := (limit - height) / slope; limit > 0 && slope > 0 && p < significance && at > last && at <= last+3*(last-first) {
		t.Reaches = &at
	}
	return t
}

// mannKendall gives the two-sided p of Kendall's S between x and y.
func mannKendall(x, y []float64) float64 {
	n := float64(len(x))
	s := 0.0
	for i := range x {
		for j := i + 1; j < len(x); j++ {
			s += sign(x[j]-x[i]) * sign(y[j]-y[i])
		}
	}
	ties := func(v []float64) (sum float64) {
		count := map[float64]float64{}
		for _, value := range v {
			count[value]++
		}
		for _, k := range count {
			sum += k * (k - 1) * (2*k + 5)
		}
		return sum
	}
	variance := (n*(n-1)*(2*n+5) - ties(x) - ties(y)) / 18
	if variance <= 0 || s == 0 {
		return 1
	}
	return math.Erfc((math.Abs(s) - 1) / math.Sqrt(variance) / math.Sqrt2)
}

func sign(x float64) float64 {
	switch {
	case x > 0:
		return 1
	case x < 0:
		return -1
	}
	return 0
}
