package hydraulics

import (
	"math"

	"daytank/planner/quantity"
)

// Roughness is the height of the unevenness inside a rubber hose or drawn pipe,
// in m: 1.5 µm (common handbook value of drawn tubing, from memory).
const Roughness = 1.5e-6

// Loss coefficients of the ends of a line: a sharp entrance, and the exit into a
// container or pump (White, Fluid Mechanics, ch. 6).
const (
	EntranceLoss = 0.5
	ExitLoss     = 1.0
)

// Where flow is laminar, and from where it is surely turbulent. Between the two
// nobody knows; the larger friction counts.
const (
	laminarBelow   = 2300
	turbulentAbove = 4000
)

// Bores are the nominal inside diameters of hose in mm, ISO 1307:2006.
var bores = []float64{3.2, 4, 5, 6.3, 8, 10, 12.5, 16, 19, 25}

// Bores gives the nominal bores of hose, the smallest first (ISO 1307:2006).
func Bores() []quantity.Length {
	all := make([]quantity.Length, len(bores))
	for i, b := range bores {
		all[i] = quantity.Millimetres(b)
	}
	return all
}

// Reynolds gives the Reynolds number of a flow in a bore; 0 for a bore or a
// viscosity of nothing.
func Reynolds(flow quantity.Flow, bore quantity.Length, nu quantity.Viscosity) float64 {
	if nu <= 0 {
		return 0
	}
	return Velocity(flow, bore) * bore.Metres() / float64(nu)
}

// FrictionFactor gives the Darcy friction factor: 64/Re of laminar flow, that of
// Colebrook above a Reynolds number of 4000, the larger of the two from 2300 on.
// Rough is the roughness over the bore; 0 where nothing flows.
func FrictionFactor(reynolds, rough float64) float64 {
	switch {
	case reynolds <= 0:
		return 0
	case reynolds < laminarBelow:
		return 64 / reynolds
	case reynolds < turbulentAbove:
		return max(64/reynolds, colebrook(reynolds, rough))
	}
	return colebrook(reynolds, rough)
}

// colebrook solves 1/√f = −2 log10(rough/3.7 + 2.51/(Re √f)) by Newton's rule for
// x = 1/√f, from the value of Haaland.
func colebrook(reynolds, rough float64) float64 {
	x := -1.8 * math.Log10(math.Pow(rough/3.7, 1.11)+6.9/reynolds)
	for range 20 {
		inside := rough/3.7 + 2.51*x/reynolds
		off := x + 2*math.Log10(inside)
		slope := 1 + 2/math.Ln10*2.51/reynolds/inside
		next := x - off/slope
		if math.Abs(next-x) < 1e-14*x {
			break
		}
		x = next
	}
	return 1 / (x * x)
}

// Pipe is a line that a liquid is drawn or pushed through.
type Pipe struct {
	Bore, Length quantity.Length
	Losses       float64 // sum of the loss coefficients of ends, elbows and couplings
}

// Friction gives the pressure that a flow loses in a pipe, by Darcy and
// Weisbach: (f L/d + K) ρV²/2.
func (p Pipe) Friction(flow quantity.Flow, density quantity.Density, nu quantity.Viscosity) quantity.Pressure {
	d := p.Bore.Metres()
	if d <= 0 || flow <= 0 {
		return 0
	}
	v := Velocity(flow, p.Bore)
	f := FrictionFactor(Reynolds(flow, p.Bore, nu), Roughness/d)
	return quantity.Pressure((f*p.Length.Metres()/d + p.Losses) * float64(density) * v * v / 2)
}

// Head gives the pressure of a column of liquid: ρ g h; negative below.
func Head(density quantity.Density, height quantity.Length) quantity.Pressure {
	return quantity.Pressure(float64(density) * Gravity * height.Metres())
}
