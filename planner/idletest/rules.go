package idletest

// Rules are what a comparison judges by. The zero value takes what is usual for the
// unit of the tests.
type Rules struct {
	Margin float64 // the change that matters, in the unit of the tests
	Fine   float64 // up to here a correction is fine
	Limit  float64 // beyond here an injector is suspect
	Makers bool    // the limit is the engine maker's
}

// What a test has to be. The times are the practice of those who do it; common
// practice, no source, where nothing else is said.
const (
	wholeIdle       = 600.0 // s
	idleShort       = 30.0  // s that a test may be shorter
	partOfSamples   = 0.90
	longestGap      = 15.0 // s, or so many intervals:
	gapIntervals    = 2.5
	speedWindow     = 10.0  // s that the speed is averaged over
	speedOff        = 25.0  // 1/min
	coldSpeedWindow = 120.0 // s about which a cold engine's speed is taken as level
	zerosInARow     = 3
	hotCoolant      = 75.0 // °C
	hotDrift        = 5.0  // K
	pairCoolant     = 5.0  // K
	pairFuel        = 10.0 // K
	coldStart       = 5.0  // K about the air
	partAtClamp     = 0.05
	meanOff         = 0.1 // mm3/stroke
	binWidth        = 5.0 // K
	commonBins      = 3
	binSamples      = 3
	fewEffective    = 30.0
	noEffective     = 5.0
	quantityFalls   = 0.10 // of the quantity before
	significance    = 0.05
)

// usual gives the rules for a unit, with what is not set filled in. The margin and
// the limits of mm3/stroke are common practice; those of other units are our own
// judgement, the limits left open.
func (r Rules) usual(unit Unit) Rules {
	margin, fine, limit := 0.5, 3.0, 5.0
	switch unit {
	case Milligrams:
		margin, fine, limit = 0.4, 2.5, 4.2
	case RPM, Percent:
		margin, fine, limit = 5, 0, 0
	case Millilitres:
		margin, fine, limit = 5, 0, 0
	case PerMetre:
		margin, fine, limit = 0.1, 0, 0
	}
	if r.Margin == 0 {
		r.Margin = margin
	}
	if r.Fine == 0 {
		r.Fine = fine
	}
	if r.Limit == 0 {
		r.Limit = limit
	}
	return r
}

// centred gives how far off zero the mean of the corrections may be.
func centred(unit Unit) float64 {
	switch unit {
	case RPM, Percent:
		return 1
	}
	return meanOff
}
