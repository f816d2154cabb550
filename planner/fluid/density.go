package fluid

import (
	"math"

	"daytank/planner/quantity"
)

// VolumeCorrection gives the factor that takes a volume at temperature t to
// the volume at 15 °C, for an oil of the given density at 15 °C.
//
// Table 54B, generalised products: α = K0/ρ15² + K1/ρ15 (in the transition band
// A + B/ρ15²), factor exp(−αΔt(1 + 0.8αΔt)), Δt = t − 15 °C. There is a step of
// some 4e-5 in the factor at the band edge of 838.5 kg/m³.
func VolumeCorrection(density15 quantity.Density, t quantity.Temperature) float64 {
	r := density15.KilogramsPerCubicMetre()
	dt := t.Celsius() - 15
	a := thermalExpansion(r)
	return math.Exp(-a * dt * (1 + 0.8*a*dt))
}

// thermalExpansion is α at 15 °C in 1/K; r in kg/m³.
func thermalExpansion(r float64) float64 {
	switch {
	case r < 770.5:
		return 346.4228/(r*r) + 0.4388/r
	case r < 787.5:
		return -0.00336312 + 2680.3206/(r*r)
	case r < 838.5:
		return 594.5418 / (r * r)
	}
	return 186.9696/(r*r) + 0.4862/r
}

// Density gives the fluid's density at a temperature.
func (f Fluid) Density(t quantity.Temperature) quantity.Density {
	return f.Density15 * quantity.Density(VolumeCorrection(f.Density15, t))
}
