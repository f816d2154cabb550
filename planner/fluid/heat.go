package fluid

import (
	"math"

	"daytank/planner/quantity"
)

// waterDensity60F is that of water at 60 °F in kg/m³, the reference of a
// specific gravity 60/60 °F.
const waterDensity60F = 999.016

// SpecificHeat gives the specific heat in J/(kg·K) at a temperature:
// c = (0.388 + 0.00045 tF)/√d Btu/(lb·°F), d the specific gravity 60/60 °F, tF
// in °F (NBS Miscellaneous Publication 97, Cragoe 1929). The density at 15 °C
// serves as that at 60 °F (15.6 °C), which moves c by less than 0.03 %.
func (f Fluid) SpecificHeat(t quantity.Temperature) float64 {
	d := f.Density15.KilogramsPerCubicMetre() / waterDensity60F
	fahrenheit := 1.8*t.Celsius() + 32
	return (0.388 + 0.00045*fahrenheit) / math.Sqrt(d) * 4186.8
}
