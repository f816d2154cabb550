package planner

import (
	"math"
	"slices"

	"daytank/planner/quantity"
)

// Heat is how warm the fluid in the container gets.
type Heat struct {
	Flash quantity.Temperature // flash point that counts: the fluid's, or the old fuel's where too little is flushed
	Warm  quantity.Temperature // from here on it is treated as the next worse class
	Hot   quantity.Temperature // here the engine is switched off
	Peak  struct{ Expected, High quantity.Temperature }
	// When warm and hot are reached, from the start of the run; 0 if it starts
	// there, nil if not by the planned end.
	WarmExpected, WarmHigh *quantity.Duration
	HotExpected, HotHigh   *quantity.Duration

	atRows []quantity.Temperature // expected, at the rows of the level table
}

// Judgements and published limits of the temperature.
const (
	wallLoss     = 10.0 // W/(m²·K), wall and surface of the container, natural convection (judgement)
	wallLossHigh = 6.0  // the same in the high case
	hoseLoss     = 8.0  // W/(m²·K), outside of a hose (judgement)
	hoseWall     = 0.006
	coilRubber   = 1.0 // W/(m·K) of coil (judgement)
	coilMetal    = 3.0
	pumpHeat     = 100.0  // W of an electric feed pump that ends up in the fluid (judgement)
	waterHeat    = 4186.0 // J/(kg·K)

	// Flash point of the old fuel: the least of EN 590.
	flashOfDiesel = quantity.Temperature(55)
	// HeatingRule: a liquid warmed to within 30 °F of its flash point is handled as
	// the next worse class, 29 CFR 1910.106.
	HeatingRule = quantity.TemperatureDifference(16.7)
	// UnderFlash is how far below its flash point a fluid is hot (common practice, no source).
	UnderFlash = quantity.TemperatureDifference(5)
	// ShutDown is the figure for small fuel containers (common practice, no source).
	ShutDown = quantity.Temperature(60)

	referenceForHeat = quantity.Temperature(40)          // where the specific heat is taken
	leastCooling     = quantity.TemperatureDifference(2) // above ambient, for a soak that ends at a temperature
	longestSoak      = quantity.Duration(12 * 3600)      // after which the sum stops waiting
	longestStep      = 1.0                               // s
	stepOfTimeConst  = 0.2                               // of the fastest time constant

	// So that an emptied container stays finite, it holds at least so much, in
	// kg, and never less than takes so long to warm through, in s.
	leastMass    = 0.02
	quickestBath = 0.2
)

// flash gives the flash point that counts.
func (j Job) flash(f FluidPlan) quantity.Temperature {
	if f.Flush >= flushOverContents*j.loopVolume() {
		return j.Fluid.FlashPoint
	}
	return min(j.Fluid.FlashPoint, j.OldFuelFlash)
}

// scenario is what differs between the expected and the high case.
type scenario struct {
	wall float64
	heat func(quantity.Band[quantity.Power]) quantity.Power
}

var (
	expectedCase = scenario{wallLoss, func(b quantity.Band[quantity.Power]) quantity.Power { return b.Expected }}
	highCase     = scenario{wallLossHigh, func(b quantity.Band[quantity.Power]) quantity.Power { return b.High }}
)

// bath is the fluid in the rig, well mixed, with the bucket its return is
// cooled in. Temperatures in °C, mass in kg, powers in W.
type bath struct {
	t, water         float64 // of the fluid, and of the bucket
	mass, loss       float64 // kg of fluid; kg/s that leave it
	specific         float64 // J/(kg·K)
	ambient, ua      float64
	heat, cap        float64 // what the return brings, and where it stops
	returns          float64 // C of the return, W/K
	extra            float64 // after the cap
	coil, waterMass  float64 // W/K of the coil, and kg of water
	exchange         float64 // W/K that the coil takes of the return
	least            float64 // kg, below which the mass does not count
	returnIsInTheRig bool
}

// rates gives the change of fluid and bucket in K/s at a mass.
func (b bath) rates(t, water, mass float64) (dt, dwater float64) {
	q, w := 0.0, 0.0
	if b.returnIsInTheRig {
		q = min(b.heat, b.returns*(b.cap-t)) + b.extra
		if b.exchange > 0 {
			w = b.exchange * (t + q/b.returns - water)
		}
	}
	dt = (q - w - b.ua*(t-b.ambient)) / (max(mass, b.least) * b.specific)
	if b.waterMass > 0 {
		dwater = w / (b.waterMass * waterHeat)
	}
	return dt, dwater
}

// step advances by h seconds with the classical Runge-Kutta rule.
func (b *bath) step(h float64) {
	half, end := b.mass-b.loss*h/2, b.mass-b.loss*h
	k1, w1 := b.rates(b.t, b.water, b.mass)
	k2, w2 := b.rates(b.t+h/2*k1, b.water+h/2*w1, half)
	k3, w3 := b.rates(b.t+h/2*k2, b.water+h/2*w2, half)
	k4, w4 := b.rates(b.t+h*k3, b.water+h*w3, end)
	b.t += h / 6 * (k1 + 2*k2 + 2*k3 + k4)
	b.water += h / 6 * (w1 + 2*w2 + 2*w3 + w4)
	b.mass = end
}

// conductance bounds what one kelvin of the fluid moves, in W/K.
func (b bath) conductance() float64 {
	if b.returnIsInTheRig {
		return b.ua + 2*b.returns
	}
	return b.ua
}

// stepLength gives a step that the rule is stable and exact enough with.
func (b bath) stepLength() float64 {
	rate := b.conductance() / (max(b.mass, b.least) * b.specific)
	if b.exchange > 0 {
		rate += b.exchange / (b.waterMass * waterHeat)
	}
	return min(longestStep, stepOfTimeConst/rate)
}

// pass goes from one time to another, and shows every step.
func (b *bath) pass(from, to float64, see func(at, t float64)) {
	for at := from; at < to; {
		next := at + b.stepLength()
		if next > to-1e-9 {
			next = to
		}
		b.step(next - at)
		at = next
		see(at, b.t)
	}
}

// coolTo goes on until the fluid is so cool, and gives how long that took.
func (b *bath) coolTo(t float64) quantity.Duration {
	at := 0.0
	for b.t > t && at < longestSoak.Seconds() {
		h := b.stepLength()
		b.step(h)
		at += h
	}
	return quantity.Seconds(at)
}

// newBath gives the rig at the start: at ambient, flush taken out.
func (j Job) newBath(f FluidPlan, s scenario) *bath {
	r := j.Rig
	b := &bath{
		t: j.Site.Ambient.Celsius(), ambient: j.Site.Ambient.Celsius(),
		mass:     max(0, float64(f.Charge-f.Flush)) * float64(j.Fluid.Density(j.Site.Ambient)),
		specific: j.Fluid.SpecificHeat(referenceForHeat),
		cap:      j.Engine.HeatCap().Celsius(),
	}
	b.water = b.t
	b.ua = s.wall * j.wettedArea(max(0, f.Charge-f.Flush))
	for _, h := range []Hose{r.SupplyHose, r.ReturnHose} {
		b.ua += hoseLoss * math.Pi * (h.Bore.Metres() + hoseWall) * h.Length.Metres()
	}
	if c := r.Coil; c != nil {
		perMetre := coilRubber
		if c.Material == "metal" {
			perMetre = coilMetal
		}
		b.coil, b.waterMass = perMetre*c.Length.Metres(), c.Water.Litres()
	}
	return b
}

// wettedArea gives wall, base and surface of so much fluid in the container in
// m²; six faces of a cube without a diameter.
func (j Job) wettedArea(v quantity.Volume) float64 {
	d := j.Rig.Container.Diameter.Metres()
	if d <= 0 {
		return 6 * math.Pow(float64(v), 2.0/3)
	}
	base := math.Pi / 4 * d * d
	return math.Pi*d*float64(v)/base + 2*base
}

// enter sets the bath up for a stage.
func (b *bath) enter(j Job, stage PlannedStage, s scenario) {
	rho15 := float64(j.Fluid.Density15)
	heatCapacity := rho15 * b.specific
	b.returnIsInTheRig = !stage.Soak && !j.Rig.ToWaste
	b.returns = heatCapacity * float64(stage.Return.Expected)
	b.heat, b.extra, b.loss, b.exchange = 0, 0, 0, 0
	b.least = max(leastMass, quickestBath*b.conductance()/b.specific)
	if stage.Soak {
		return
	}
	if b.coil > 0 && b.returns > 0 && b.returnIsInTheRig {
		b.exchange = b.returns * (1 - math.Exp(-b.coil/b.returns))
	}
	b.heat = float64(s.heat(j.Engine.ReturnHeatAt(stage.Speed, heatCapacity)))
	if j.Rig.Feed == "pump" {
		b.extra = pumpHeat
	}
	b.loss = rho15 * float64(stage.Rate.Expected)
	if j.Rig.ToWaste {
		b.loss += rho15 * float64(stage.Return.Expected)
	}
}

// heatUp runs the stages through a bath; see is called at the start and after
// every step.
func (j Job) heatUp(stages []PlannedStage, f FluidPlan, s scenario, see func(at, t float64)) {
	b := j.newBath(f, s)
	at := 0.0
	see(at, b.t)
	for _, stage := range stages {
		b.enter(j, stage, s)
		end := at + stage.For.Seconds()
		b.pass(at, end, see)
		at = end
	}
}

// soakTimes gives the stages with the length of each soak that ends at a
// temperature: how long the expected case takes to cool to it, nothing where it
// is that cool already.
func (j Job) soakTimes(r run, f FluidPlan) []PlannedStage {
	if !slices.ContainsFunc(j.Run, func(s Stage) bool { return s.SoakUntil != nil }) {
		return r.stages
	}
	b := j.newBath(f, expectedCase)
	for i := range r.stages {
		stage := &r.stages[i]
		b.enter(j, *stage, expectedCase)
		if until := j.Run[i].SoakUntil; until != nil {
			stage.For = b.coolTo(until.Celsius())
			continue
		}
		b.pass(0, stage.For.Seconds(), func(_, _ float64) {})
	}
	return r.stages
}

// planHeat gives peak and times of both cases, and the temperatures of the
// level table.
func (j Job) planHeat(r run, f FluidPlan) Heat {
	h := Heat{Flash: j.flash(f)}
	h.Warm = min(h.Flash.Plus(-HeatingRule), ShutDown)
	h.Hot = min(h.Flash.Plus(-UnderFlash), ShutDown)

	rows := newSampler(r.rows())
	c := newCrossings(h.Warm.Celsius(), h.Hot.Celsius())
	j.heatUp(r.stages, f, expectedCase, func(at, t float64) {
		rows.see(at, t)
		c.see(at, t)
	})
	h.atRows = rows.values
	h.Peak.Expected, h.WarmExpected, h.HotExpected = quantity.Celsius(c.peak), c.first[0], c.first[1]

	c = newCrossings(h.Warm.Celsius(), h.Hot.Celsius())
	j.heatUp(r.stages, f, highCase, c.see)
	h.Peak.High, h.WarmHigh, h.HotHigh = quantity.Celsius(c.peak), c.first[0], c.first[1]
	return h
}

// crossings notes the peak, and when marks are first reached.
type crossings struct {
	marks   []float64
	first   []*quantity.Duration
	peak    float64
	at, t   float64
	started bool
}

func newCrossings(marks ...float64) *crossings {
	return &crossings{marks: marks, first: make([]*quantity.Duration, len(marks)), peak: math.Inf(-1)}
}

func (c *crossings) see(at, t float64) {
	for i, mark := range c.marks {
		if c.first[i] != nil || t < mark {
			continue
		}
		when := at
		if c.started { // then it was below the mark
			when = c.at + (mark-c.t)/(t-c.t)*(at-c.at)
		}
		d := quantity.Duration(when)
		c.first[i] = &d
	}
	c.peak = max(c.peak, t)
	c.at, c.t, c.started = at, t, true
}

// sampler takes the temperature at given times, between steps by interpolation.
type sampler struct {
	times  []quantity.Duration
	values []quantity.Temperature
	at, t  float64
}

func newSampler(times []quantity.Duration) *sampler { return &sampler{times: times} }

func (s *sampler) see(at, t float64) {
	for len(s.values) < len(s.times) && s.times[len(s.values)].Seconds() <= at+1e-6 {
		want := s.times[len(s.values)].Seconds()
		value := t
		if at > s.at {
			value = s.t + (t-s.t)*(want-s.at)/(at-s.at)
		}
		s.values = append(s.values, quantity.Celsius(value))
	}
	s.at, s.t = at, t
}
