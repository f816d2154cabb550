package hydraulics

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"daytank/planner/quantity"
)

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s is %.9g, want %.9g ± %g", what, got, want, tolerance)
	}
}

// TestContents: 28, 50 and 79 mL a metre at 6, 8 and 10 mm are figures that
// workshops go by (common practice, no source).
func TestContents(t *testing.T) {
	tests := []struct{ bore, length, want, tolerance float64 }{ // mm, m, mL, mL
		{6, 1, 28, 0.5},
		{8, 1, 50, 0.5},
		{10, 1, 79, 0.5},
		{8, 3, 150.796447, 1e-6},
		{8, 0, 0, 0},
		{0, 1, 0, 0},
	}
	for _, tt := range tests {
		got := Contents(quantity.Millimetres(tt.bore), quantity.Metres(tt.length))
		near(t, "contents, mL", got.Millilitres(), tt.want, tt.tolerance)
	}
}

// TestVelocity has points of pipe flow, V = 4Q/(π d²).
func TestVelocity(t *testing.T) {
	tests := []struct{ bore, flow, want, tolerance float64 }{ // mm, L/h, m/s
		{8, 60, 0.3316, 5e-5},
		{8, 120, 0.6631, 5e-5},
		{6, 60, 0.5895, 5e-5},
		{10, 60, 0.2122, 5e-5},
		{50, 3.5 * 3600, 1.78254, 5e-6}, // oil line of a textbook: 3.5 L/s
		{200, 720000, 6.3662, 5e-5},     // White, Fluid Mechanics, ex. 6.7: 0.2 m³/s
		{8, 0, 0, 0},
		{0, 60, 0, 0},
	}
	for _, tt := range tests {
		got := Velocity(quantity.LitresPerHour(tt.flow), quantity.Millimetres(tt.bore))
		near(t, "velocity, m/s", got, tt.want, tt.tolerance)
	}
}

// TestSubmergence has the form d(1 + 2.3 Fr) of ANSI/HI 9.8, from memory, worked
// out by hand, and the least of 20 mm.
func TestSubmergence(t *testing.T) {
	tests := []struct{ bore, flow, want, tolerance float64 }{ // mm, L/h, mm
		{8, 60, 29.78, 0.01},     // Fr 0.3316/√(9.80665·0.008) = 1.1838
		{8, 0, 20, 1e-9},         // the least
		{30, 0, 30, 1e-9},        // a bore above it
		{0, 60, 20, 1e-9},        // no bore
		{10, 1000, 269.76, 0.01}, // Fr 3.5368/√(0.0980665) = 11.294
	}
	for _, tt := range tests {
		got := Submergence(quantity.LitresPerHour(tt.flow), quantity.Millimetres(tt.bore))
		near(t, "submergence, mm", got.Millimetres(), tt.want, tt.tolerance)
	}
}

func TestHandStrokes(t *testing.T) {
	tests := []struct {
		volume, stroke float64 // mL
		want           int
	}{
		{500, 6, 105}, // 500/4.8 = 104.2
		{480, 6, 100}, // just whole
		{480.1, 6, 101},
		{0, 6, 0},
		{500, 0, 0},
		{4.8, 6, 1},
	}
	for _, tt := range tests {
		if got := HandStrokes(quantity.Millilitres(tt.volume), quantity.Millilitres(tt.stroke)); got != tt.want {
			t.Errorf("%v mL at %v mL: %d strokes, want %d", tt.volume, tt.stroke, got, tt.want)
		}
	}
}

func TestKeyCycles(t *testing.T) {
	tests := []struct {
		volume, flow, run float64 // mL, L/h, s
		want              int
	}{
		{500, 90, 20, 2},  // 400 mL each time
		{800, 90, 20, 2},  // just whole
		{801, 90, 20, 3},  // a little more
		{500, 90, 2, 13},  // 40 mL each time
		{10, 90, 20, 2},   // never once only
		{0, 90, 20, 2},    // never once only
		{500, 0, 20, 0},   // nothing comes
		{500, 90, 0, 0},   // nothing comes
		{2100, 60, 20, 8}, // 266.7 mL each time
	}
	for _, tt := range tests {
		got := KeyCycles(quantity.Millilitres(tt.volume), quantity.LitresPerHour(tt.flow), quantity.Seconds(tt.run))
		if got != tt.want {
			t.Errorf("%v mL at %v L/h for %v s: %d cycles, want %d", tt.volume, tt.flow, tt.run, got, tt.want)
		}
	}
}

// TestCountsFill: the count fills the volume, and one fewer would not.
func TestCountsFill(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		volume := rapid.Float64Range(1, 1e5).Draw(t, "mL")
		stroke := rapid.Float64Range(0.5, 1000).Draw(t, "stroke")
		n := float64(HandStrokes(quantity.Millilitres(volume), quantity.Millilitres(stroke)))
		each := 0.8 * stroke
		if n*each < volume*(1-1e-6) || (n-1)*each > volume*(1+1e-6) {
			t.Fatalf("%v strokes of %v mL for %v mL", n, stroke, volume)
		}
	})
}

// TestMoreFlowNeverNeedsLessCover, and a wider pick-up never draws faster.
func TestMoreFlowNeverNeedsLessCover(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		bore := quantity.Millimetres(rapid.Float64Range(1, 60).Draw(t, "bore"))
		flow := quantity.LitresPerHour(rapid.Float64Range(0, 60000).Draw(t, "flow"))
		if Submergence(flow*1.1, bore) < Submergence(flow, bore) {
			t.Fatal("more flow needs less cover")
		}
		if Velocity(flow, bore*1.1) > Velocity(flow, bore) {
			t.Fatal("a wider bore flows faster")
		}
	})
}
