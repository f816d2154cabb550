package idletest

import (
	"bytes"
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

func TestSamplesRoundTrip(t *testing.T) {
	want := fromTable(t, Hot, Before).Samples
	want.Corrections[1].Step = 0.01
	want.Corrections[2] = Series{}
	got, err := DecodeSamples(want.Encode())
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(want, got); d != "" {
		t.Error(d)
	}
}

func TestSamplesRefused(t *testing.T) {
	good := "daytank idle samples 1\ncoolant 0\n0 5\n86 87\ncorrection.1 0.01\n0 5\n1 2\n"
	if _, err := DecodeSamples([]byte(good)); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ old, new, want string }{
		{"samples 1", "samples 2", "no samples"},
		{"coolant", "oil", "no channel"},
		{"coolant 0\n0 5\n86 87", "correction.1 0\n0 5\n86 87", "twice"},
		{"correction.1", "correction.2", "no channel"},
		{"0 5\n86 87", "5 0\n86 87", "do not rise"},
		{"0 5\n86 87", "0 5\n86", "2 times and 1 values"},
		{"86 87", "86 NaN", "no number"},
		{"86 87", "86 1e999", "no number"},
		{"0.01", "-1", "resolution"},
		{"1 2\n", "1 2", "no samples"},
	} {
		_, err := DecodeSamples([]byte(strings.Replace(good, c.old, c.new, 1)))
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%q for %q: %v, want %q", c.new, c.old, err, c.want)
		}
	}
}

func FuzzDecodeSamples(f *testing.F) {
	f.Add([]byte("daytank idle samples 1\ncoolant 0\n0 5\n86 87\ncorrection.1 0.01\n0 5\n1 2\n"))
	f.Add([]byte("daytank idle samples 1\n"))
	f.Fuzz(func(t *testing.T, text []byte) {
		s, err := DecodeSamples(text)
		if err != nil {
			return
		}
		again, err := DecodeSamples(s.Encode())
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(again.Encode(), s.Encode()) {
			t.Fatal("does not come back as it was")
		}
		Reduce(Test{Phase: Before, State: Hot, Measure: Corrections, Unit: CubicMillimetres, Samples: s}, Rules{})
	})
}

// Kendall's S and its variance by hand: six points that all rise, S = 15 and
// variance 6·5·17/18 = 28.33, so z = 14/5.323 = 2.630, p = 0.00854.
func TestTrend(t *testing.T) {
	var rising []Point
	for i := range 6 {
		rising = append(rising, Point{X: 1000 * float64(i), RMS: 1 + 0.5*float64(i)})
	}
	got := TrendOf(rising, 5)
	if got.Slope == nil || math.Abs(*got.Slope-0.0005) > 1e-12 {
		t.Fatalf("slope %v", got.Slope)
	}
	near(t, "p", *got.P, 0.00854, 1e-3)
	if got.Reaches == nil || math.Abs(*got.Reaches-8000) > 1e-6 { // 1 + 0.0005 x = 5
		t.Errorf("reaches %v", got.Reaches)
	}
	if four := TrendOf(rising[:4], 5); four.Slope != nil {
		t.Error("a slope of four points")
	}
	if far := TrendOf(rising, 50); far.Reaches != nil {
		t.Errorf("said to reach 50 at %g", *far.Reaches)
	}
	flat := []Point{{0, 1}, {1, 1.1}, {2, 0.9}, {3, 1.05}, {4, 1}}
	if got := TrendOf(flat, 5); got.Slope == nil || got.Reaches != nil {
		t.Errorf("%+v", got)
	}
	same := []Point{{1, 1}, {1, 2}, {1, 3}, {1, 4}, {1, 5}}
	if got := TrendOf(same, 5); got.Slope != nil {
		t.Error("a slope without distance")
	}
}
