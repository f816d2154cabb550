package planner

import (
	"math"

	"daytank/planner/quantity"
)

// Dose is how much of a product goes into one of the vehicle's tanks, for the
// fuel that is in it now.
type Dose struct {
	Tank     string
	Fuel     quantity.Volume
	Min, Max quantity.Volume
	Amount   quantity.Volume // 0 for an empty tank
	Measures int             // whole ones that make the amount; 0: it is measured in plain volume
	OfFluid  bool            // of the cleaning fluid, where its label allows it; otherwise of the tank additive
}

// DoseFor gives the dose for the fuel in a tank: whole measures within the range
// of the label, as near to its middle as they come; where no whole number fits, or
// no measure is known, the middle in plain volume. It is never above the range.
func DoseFor(tank Tank, least, most quantity.Dose, measure quantity.Volume) Dose {
	d := Dose{
		Tank: tank.Name, Fuel: tank.Fuel,
		Min: quantity.Volume(float64(least) * float64(tank.Fuel)),
		Max: quantity.Volume(float64(most) * float64(tank.Fuel)),
	}
	d.measure(measure)
	return d
}

// slack lets a whole number of measures count that is at an end of the range but
// for the last digits.
const slack = 1e-9

// leastMeasure is what nobody counts: a smaller one is no measure.
const leastMeasure = quantity.Volume(1e-7)

// measure chooses the amount within the range.
func (d *Dose) measure(measure quantity.Volume) {
	middle := float64(d.Min+d.Max) / 2
	d.Amount, d.Measures = 0, 0
	if middle <= 0 {
		return
	}
	if measure >= leastMeasure {
		first := math.Ceil(float64(d.Min)/float64(measure) - slack)
		last := math.Floor(float64(d.Max)/float64(measure) + slack)
		if n := min(max(math.Round(middle/float64(measure)), first), last); first <= last && n >= 1 {
			d.Measures = int(n)
			d.Amount = min(quantity.Volume(n)*measure, d.Max)
			return
		}
	}
	d.Amount = quantity.Volume(middle)
	for _, step := range []float64{1e-6, 1e-7} { // to the millilitre, to its tenth
		if x := quantity.Volume(math.Round(middle/step) * step); x >= d.Min && x <= d.Max {
			d.Amount = x
			return
		}
	}
}

// returned gives the cleaning fluid that the first start washes back into the
// tank: what line and filter in the loop are full of.
func (j Job) returned() quantity.Volume { return j.loopVolume() }

// planDoses gives the dose of the tank additive for every tank, and, where the
// label of the cleaning fluid allows it in a tank, what of it could be taken
// instead: less what comes back into the first tank by itself.
func (j Job) planDoses() []Dose {
	if j.TankDose == nil {
		return nil
	}
	var doses []Dose
	for _, tank := range j.TankDose.Tanks {
		doses = append(doses, DoseFor(tank, j.TankDose.Min, j.TankDose.Max, j.TankDose.Measure))
	}
	if j.Fluid.TankRatio == nil {
		return doses
	}
	for i, tank := range j.TankDose.Tanks {
		d := DoseFor(tank, j.Fluid.TankRatio.Min, j.Fluid.TankRatio.Max, 0)
		d.OfFluid = true
		if i == 0 {
			d.Min, d.Max = max(0, d.Min-j.returned()), max(0, d.Max-j.returned())
			d.measure(0)
		}
		doses = append(doses, d)
	}
	return doses
}
