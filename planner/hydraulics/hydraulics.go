// Package hydraulics computes what the plumbing between container and engine
// holds and needs: contents and velocity of a hose, the cover of liquid that a
// pick-up wants so that it draws no air, and how far priming has to go.
//
// Sources stand at each function.
package hydraulics

import (
	"math"

	"daytank/planner/quantity"
)

// Gravity is the standard acceleration of free fall in m/s² (exact by
// definition, NIST SP 811).
const Gravity = 9.80665

// Area gives the cross-section of a bore in m².
func Area(bore quantity.Length) float64 {
	d := bore.Metres()
	return math.Pi / 4 * d * d
}

// Contents gives the volume inside a hose: π/4 · bore² · length.
func Contents(bore, length quantity.Length) quantity.Volume {
	return quantity.Volume(Area(bore) * length.Metres())
}

// Velocity gives the mean velocity of a flow in a bore in m/s; 0 for a bore of
// nothing.
func Velocity(flow quantity.Flow, bore quantity.Length) float64 {
	if bore <= 0 {
		return 0
	}
	return float64(flow) / Area(bore)
}

// leastSubmergence keeps a pick-up covered while the container is knocked or
// leaned (own judgement).
const leastSubmergence = quantity.Length(0.020)

// Submergence gives the depth of liquid wanted above a pick-up so that no
// vortex draws air: d(1 + 2.3 Fr) with Fr = v/√(g d), at least 20 mm. The form
// is that of ANSI/HI 9.8 for an intake bell, from memory.
func Submergence(flow quantity.Flow, bore quantity.Length) quantity.Length {
	d := bore.Metres()
	if d <= 0 {
		return leastSubmergence
	}
	froude := Velocity(flow, bore) / math.Sqrt(Gravity*d)
	return max(leastSubmergence, quantity.Metres(d*(1+2.3*froude)))
}

// fillingOfPrimer is the part of a primer's nominal delivery that is counted
// on (own judgement).
const fillingOfPrimer = 0.8

// HandStrokes gives the strokes of a hand primer that fill a volume; 0 where a
// stroke delivers nothing. The criterion is fuel seen; the count is a guide.
func HandStrokes(volume, stroke quantity.Volume) int {
	if stroke <= 0 {
		return 0
	}
	return int(math.Ceil(float64(volume/stroke)/fillingOfPrimer - 1e-9))
}

// KeyCycles gives the times the key is turned on so that an electric pump,
// which runs only so long each time, fills a volume: at least 2. The criterion
// is fuel seen; the count is a guide.
func KeyCycles(volume quantity.Volume, flow quantity.Flow, run quantity.Duration) int {
	each := float64(flow.Over(run)) * fillingOfPrimer
	if each <= 0 {
		return 0
	}
	return max(2, int(math.Ceil(float64(volume)/each-1e-9)))
}
