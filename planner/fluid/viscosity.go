package fluid

import (
	"math"

	"daytank/planner/quantity"
)

// Viscosity gives the kinematic viscosity at a temperature from the two
// figures of the data sheet, by ASTM D341 in its full form:
//
//	log10 log10 Z = A − B log10 T,  Z = ν + 0.7 + exp(−1.47 − 1.84 ν − 0.51 ν²)
//
// with ν in mm²/s and T in kelvin. The exponential matters below 2 mm²/s,
// which is where hot cleaning fluid is.
func (f Fluid) Viscosity(t quantity.Temperature) quantity.Viscosity {
	y40 := walther(f.Viscosity40.SquareMillimetresPerSecond())
	y100 := walther(f.Viscosity100.SquareMillimetresPerSecond())
	x40, x100 := math.Log10(40+273.15), math.Log10(100+273.15)
	slope := (y40 - y100) / (x100 - x40)
	y := y40 - slope*(math.Log10(t.Kelvin())-x40)
	return quantity.SquareMillimetresPerSecond(unwalther(y))
}

// thick is where the exponential is far below the last digit, in mm²/s; its
// polynomial would run over for stiff fluid.
const thick = 100

func walther(nu float64) float64 {
	z := nu + 0.7 + math.Exp(-1.47-1.84*nu-0.51*nu*nu)
	return math.Log10(math.Log10(z))
}

func unwalther(y float64) float64 {
	w := math.Pow(10, math.Pow(10, y)) - 0.7
	if w > thick {
		return w
	}
	return w - math.Exp(-0.7487-3.295*w+0.6119*w*w-0.3193*w*w*w)
}
