package planner

import (
	"errors"
	"regexp"
	"strings"
	"sync"

	"daytank/planner/engine"
	"daytank/planner/fluid"
	"daytank/planner/quantity"
	"daytank/planner/strict"
)

// Defaults of a job file for what may be left out.
const (
	defaultPickupHeight = quantity.Length(0.010)
	defaultWatchTime    = quantity.Duration(30)
)

// ReadJob reads a job file strictly. File is the name used in problems; today
// stands in for a date the file lacks. The error is [strict.Problems] with
// every problem of the file and its place.
func ReadJob(file string, data []byte, library *engine.Library, today Date) (Job, error) {
	doc, err := strict.Parse(file, data)
	if err != nil {
		return Job{}, err
	}
	return readDocument(doc, library, today)
}

// readDocument reads the job that stands in a document, which the job keeps.
func readDocument(doc *strict.Document, library *engine.Library, today Date) (Job, error) {
	library.Resolve(doc, "engine")
	j := Job{doc: doc, library: library}
	m := doc.Root().Map()
	m.Required("job").Integer(1, 1)
	j.readHead(m, today)

	var assumed []string
	j.Engine, assumed = engine.Read(m.Required("engine").Map(), library)
	j.Assumed = append(j.Assumed, assumed...)
	j.Fluid, assumed = fluid.Read(m.Required("fluid").Map())
	j.Assumed = append(j.Assumed, assumed...)
	j.readRig(m.Required("rig").Map())
	j.readRun(m.Required("run"))
	j.readSite(m.Required("site").Map())
	j.readCondition(m.Optional("condition").Map())
	j.readTankDose(m.Optional("tank_dose"))
	j.OldFuelFlash = flashOfDiesel
	if v := m.Optional("fuel_flash_point"); v.Present() {
		j.OldFuelFlash = strict.Within(v, quantity.ParseTemperature, quantity.Celsius(20), quantity.Celsius(120))
	}
	m.Close()
	j.noteUnanswered()
	if err := doc.Err(); err != nil {
		return Job{}, err
	}
	if !m.Optional("date").Present() {
		if err := doc.Set("date", j.Date.String()); err != nil {
			return Job{}, err
		}
	}
	return j, nil
}

func (j *Job) readHead(m *strict.Mapping, today Date) {
	j.Title = m.Optional("title").Line()
	j.Asset = readAsset(m.Optional("asset"))
	j.Date = today
	if v := m.Optional("date"); v.Present() {
		j.Date = strict.Read(v, ParseDate)
	}
	j.Odometer = strict.MaybeWithin(m.Optional("odometer"), quantity.ParseDistance, 0, quantity.Kilometres(5e6))
	j.EngineHours = strict.MaybeWithin(m.Optional("engine_hours"), quantity.ParseDuration, 0, quantity.Hours(2e5))
	if v := m.Optional("last_clean"); v.Present() {
		j.readLastClean(v.Map())
	}
}

func (j *Job) readLastClean(m *strict.Mapping) {
	on, odometer, hours := m.Required("on"), m.Optional("odometer"), m.Optional("engine_hours")
	last := &LastClean{
		On:          strict.Read(on, ParseDate),
		Odometer:    strict.MaybeWithin(odometer, quantity.ParseDistance, 0, quantity.Kilometres(5e6)),
		EngineHours: strict.MaybeWithin(hours, quantity.ParseDuration, 0, quantity.Hours(2e5)),
	}
	m.Close()
	if j.Date != (Date{}) && j.Date.Before(last.On) {
		on.Problem("the last clean, on %s, is after this job, on %s", last.On, j.Date)
	}
	if exceeds(last.Odometer, j.Odometer) {
		odometer.Problem("%s at the last clean is more than there is now", odometer.Text())
	}
	if exceeds(last.EngineHours, j.EngineHours) {
		hours.Problem("%s at the last clean is more than there is now", hours.Text())
	}
	j.LastClean = last
}

// exceeds tells whether both are known and the first is the larger.
func exceeds[T ~float64](a, b *T) bool { return a != nil && b != nil && *a > *b }

// Compiled when first used: most commands start without it.
var assetName = sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(`^[A-Za-z0-9][A-Za-z0-9._-]{0,31}$`) })

// UnnamedAsset is the asset of a job file that names none.
const UnnamedAsset = "UNNAMED"

func readAsset(v strict.Value) string {
	name := v.Text()
	if name == "" {
		return UnnamedAsset
	}
	if !assetName().MatchString(name) {
		v.Problem("%q is not a short name of letters, digits, dots and hyphens such as VAN-07", name)
	}
	return name
}

func (j *Job) readRig(m *strict.Mapping) {
	r := &j.Rig
	r.SupplyHose = readHose(m.Required("supply_hose").Map())
	r.ReturnHose = readHose(m.Required("return_hose").Map())
	r.Container = readContainer(m.Required("container").Map(), r.SupplyHose.Bore)
	r.Charge = strict.MaybeWithin(m.Optional("charge"), quantity.ParseVolume, quantity.Millilitres(1), quantity.Litres(1000))
	r.readFeed(m.Optional("feed"), m.Optional("feed_pump"))
	r.ReturnFixed = maybeBool(m.Optional("return_fastened"))
	r.Lift = readSigned(m.Optional("lift"))
	r.ReturnLift = readSigned(m.Optional("return_lift"))
	r.Taps = m.Optional("taps").Bool()
	r.NonReturn = m.Optional("non_return_valve").Bool()
	r.MinorLoss = m.Optional("minor_loss").Number(0, 1000)
	r.FilterInLoop = m.Optional("filter_in_loop").Bool()
	r.SupplyDrop = strict.Within(m.Optional("inline_filter_drop"), quantity.ParsePressure, 0, quantity.Kilopascals(200))
	r.ReturnDrop = strict.Within(m.Optional("return_filter_drop"), quantity.ParsePressure, 0, quantity.Kilopascals(200))
	r.ToWaste = m.Optional("return_to").OneOf("container", "waste") == "waste"
	r.FirstFlush = readFlush(m.Optional("first_flush"))
	r.Coil = readCoil(m.Optional("return_cooler"))
	r.WatchTime = defaultWatchTime
	if v := m.Optional("watch_time"); v.Present() {
		r.WatchTime = strict.Within(v, quantity.ParseDuration, quantity.Seconds(1), quantity.Minutes(30))
	}
	m.Close()
}

func (r *Rig) readFeed(feed, pump strict.Value) {
	r.Feed = "engine"
	if feed.Present() {
		r.Feed = feed.OneOf("engine", "pump")
	}
	switch {
	case r.Feed == "pump" && !pump.Present():
		feed.Problem("with a pump, feed_pump: {pressure: ..., flow: ...} is wanted beside it")
	case r.Feed == "engine" && pump.Present():
		pump.Problem("is given, but feed is not pump")
	case pump.Present():
		p := pump.Map()
		r.FeedPump.Pressure = strict.Within(p.Required("pressure"), quantity.ParsePressure, 0, quantity.Kilopascals(2000))
		r.FeedPump.Flow = strict.Within(p.Required("flow"), quantity.ParseFlow, quantity.LitresPerHour(1), quantity.LitresPerHour(3000))
		p.Close()
	}
}

func readSigned(v strict.Value) quantity.Length {
	return strict.Within(v, quantity.ParseLength, quantity.Metres(-20), quantity.Metres(20))
}

func readHose(m *strict.Mapping) Hose {
	h := Hose{
		Bore:            strict.Within(m.Required("bore"), quantity.ParseLength, quantity.Millimetres(1), quantity.Millimetres(60)),
		Length:          strict.Within(m.Required("length"), quantity.ParseLength, quantity.Millimetres(10), quantity.Metres(100)),
		Rating:          strict.MaybeWithin(m.Optional("rating"), quantity.ParseTemperature, quantity.Celsius(-40), quantity.Celsius(400)),
		FuelRated:       maybeBool(m.Optional("fuel_rated")),
		Standard:        m.Optional("standard").Line(),
		Material:        m.Optional("material").OneOf("rubber", "clear-pvc", "metal"),
		WorkingPressure: strict.MaybeWithin(m.Optional("working_pressure"), quantity.ParsePressure, quantity.Kilopascals(10), quantity.Kilopascals(100000)),
	}
	m.Close()
	return h
}

func readContainer(m *strict.Mapping, supplyBore quantity.Length) Container {
	c := Container{
		Capacity:     strict.Within(m.Required("capacity"), quantity.ParseVolume, quantity.Millilitres(50), quantity.Litres(1000)),
		PickupHeight: defaultPickupHeight,
		PickupBore:   supplyBore,
		Closed:       maybeBool(m.Optional("closed")),
		Unusable:     strict.MaybeWithin(m.Optional("unusable"), quantity.ParseVolume, 0, quantity.Litres(1000)),
	}
	if v := m.Optional("diameter"); v.Present() {
		c.Diameter = strict.Within(v, quantity.ParseLength, quantity.Millimetres(20), quantity.Metres(3))
	}
	if v := m.Optional("pickup_height"); v.Present() {
		c.PickupHeight = strict.Within(v, quantity.ParseLength, 0, quantity.Metres(1))
	}
	if v := m.Optional("pickup_bore"); v.Present() {
		c.PickupBore = strict.Within(v, quantity.ParseLength, quantity.Millimetres(1), quantity.Millimetres(60))
	}
	m.Close()
	return c
}

func readFlush(v strict.Value) FirstFlush {
	switch v.Text() {
	case "", "auto":
		return FirstFlush{Auto: true}
	case "none":
		return FirstFlush{}
	}
	return FirstFlush{Volume: strict.Within(v, quantity.ParseVolume, 0, quantity.Litres(100))}
}

func readCoil(v strict.Value) *Coil {
	if !v.Present() || v.IsText() {
		v.OneOf("none")
		return nil
	}
	m := v.Map()
	c := &Coil{
		Material: m.Required("material").OneOf("metal", "rubber"),
		Length:   strict.Within(m.Required("length"), quantity.ParseLength, quantity.Millimetres(50), quantity.Metres(50)),
		Water:    strict.Within(m.Required("water"), quantity.ParseVolume, quantity.Litres(0.5), quantity.Litres(1000)),
	}
	m.Close()
	return c
}

func (j *Job) readSite(m *strict.Mapping) {
	at := m.Required("ambient")
	ambient := strict.MaybeWithin(at, quantity.ParseTemperature, quantity.Celsius(-40), quantity.Celsius(60))
	j.Site = Site{Place: m.Required("place").OneOf("outdoors", "extraction", "indoors"), People: 1}
	if ambient != nil {
		j.Site.Ambient = *ambient
	}
	if v := m.Optional("people"); v.Present() {
		j.Site.People = v.Integer(1, 20)
	}
	for _, v := range m.Optional("at_risk").List() {
		j.Site.AtRisk = append(j.Site.AtRisk, v.OneOf("pregnant", "under-18", "asthma"))
	}
	m.Close()
	for i, s := range j.Run {
		if s.SoakUntil != nil && ambient != nil && *s.SoakUntil < ambient.Plus(leastCooling) {
			at.Problem("run.%d soaks until %.0f °C, which is not at least %.0f K above the ambient: it would hardly ever end", i, s.SoakUntil.Celsius(), leastCooling.Kelvins())
		}
	}
}

func (j *Job) readCondition(m *strict.Mapping) {
	j.Condition = Condition{
		Symptom:      m.Optional("symptom").Line(),
		StoredFaults: m.Optional("stored_faults").OneOf("none", "electrical", "other"),
		FuelSample:   m.Optional("fuel_sample").OneOf("clean", "water", "petrol", "metal"),
		Leaks:        m.Optional("leaks").OneOf("none", "weeping", "leaking"),
		OilLevel:     m.Optional("oil_level").OneOf("normal", "high"),
		Seals:        m.Optional("seals").OneOf("sound", "hardened"),
		SootLamp:     m.Optional("soot_lamp").OneOf("off", "on", "regenerating"),
		WorstCorrection: strict.MaybeWithin(m.Optional("worst_correction"), quantity.ParsePerStroke,
			quantity.CubicMillimetres(-100), quantity.CubicMillimetres(100)),
	}
	m.Close()
}

func (j *Job) readTankDose(v strict.Value) {
	if !v.Present() {
		return
	}
	m := v.Map()
	d := &TankDose{
		Measure: strict.Within(m.Optional("measure"), quantity.ParseVolume, quantity.Millilitres(0.5), quantity.Litres(20)),
	}
	d.readRatio(m.Required("ratio").Map())
	for _, item := range m.Required("tanks").List() {
		t := item.Map()
		tank := Tank{
			Name:     t.Required("name").Line(),
			Capacity: strict.Within(t.Required("capacity"), quantity.ParseVolume, quantity.Litres(0.5), quantity.Litres(20000)),
			Fuel:     strict.Within(t.Required("fuel"), quantity.ParseVolume, 0, quantity.Litres(20000)),
		}
		t.Close()
		if tank.Capacity > 0 && tank.Fuel > tank.Capacity {
			item.Problem("tank %s holds more fuel than its capacity", tank.Name)
		}
		d.Tanks = append(d.Tanks, tank)
	}
	m.Close()
	j.TankDose = d
}

func (d *TankDose) readRatio(m *strict.Mapping) {
	least := strict.MaybeWithin(m.Required("min"), quantity.ParseDose, 0, fluid.MostDose)
	most := strict.MaybeWithin(m.Required("max"), quantity.ParseDose, 0, fluid.MostDose)
	m.Close()
	switch {
	case least == nil || most == nil:
		return
	case *most < *least:
		m.Problem("the largest dose is below the smallest")
	}
	d.Min, d.Max = *least, *most
}

// noteUnanswered lists the questions that can hurt when nobody asks them.
func (j *Job) noteUnanswered() {
	c := j.Condition
	asked := []struct {
		path  string
		given bool
	}{
		{"condition.symptom", c.Symptom != ""},
		{"condition.stored_faults", c.StoredFaults != ""},
		{"condition.fuel_sample", c.FuelSample != ""},
		{"condition.leaks", c.Leaks != ""},
		{"condition.oil_level", c.OilLevel != ""},
		{"condition.seals", c.Seals != ""},
		{"condition.soot_lamp", c.SootLamp != "" || j.Engine.Aftertreatment == "none"},
		{"condition.worst_correction", c.WorstCorrection != nil || j.Engine.Injectors == "mechanical"},
		{"engine.aftertreatment", j.Engine.Aftertreatment != ""},
		{"engine.stop_device", j.Engine.StopDevice != ""},
		{"engine.extra_returns", j.Engine.ExtraReturns != ""},
		{"fluid.hazards", j.Fluid.Hazards != nil},
		{"rig.return_fastened", j.Rig.ReturnFixed != nil},
		{"rig.container.closed", j.Rig.Container.Closed != nil},
		{"rig.supply_hose.fuel_rated", j.Rig.SupplyHose.FuelRated != nil},
		{"rig.return_hose.fuel_rated", j.Rig.ReturnHose.FuelRated != nil},
	}
	for _, q := range asked {
		if !q.given {
			j.Unanswered = append(j.Unanswered, q.path)
		}
	}
}

func maybeBool(v strict.Value) *bool {
	if !v.Present() {
		return nil
	}
	b := v.Bool()
	return &b
}

// misspelt tells what is wrong with a path that a value was taken away from: where a value
// stood there, it would be read or refused, but not as an unknown key.
func misspelt(doc *strict.Document, path string, library *engine.Library, today Date) error {
	tried := doc.Copy()
	if err := tried.Set(path, "x"); err != nil {
		return err
	}
	_, err := readDocument(tried, library, today)
	var problems strict.Problems
	errors.As(err, &problems)
	for _, p := range problems {
		if strings.HasPrefix(p.Message, strict.UnknownKey) && strings.HasPrefix(path+".", p.Path+".") {
			return errors.New(p.Path + ": " + p.Message)
		}
	}
	return nil
}

// ReadJobWith is [ReadJob] with changes PATH=VALUE written into the document
// before it is read, in their order.
func ReadJobWith(file string, data []byte, set []string, library *engine.Library, today Date) (Job, error) {
	doc, err := strict.Parse(file, data)
	if err != nil {
		return Job{}, err
	}
	for _, change := range set {
		path, value, ok := strings.Cut(change, "=")
		if !ok {
			return Job{}, strict.Problems{{File: "change " + change, Message: "a change is written PATH=VALUE, such as rig.charge=2 L"}}
		}
		path = strings.TrimSpace(path)
		err := doc.Set(path, value)
		if err == nil && strings.TrimSpace(value) == "" {
			err = misspelt(doc, path, library, today)
		}
		if err != nil {
			return Job{}, strict.Problems{{File: "change " + change, Message: err.Error()}}
		}
	}
	return readDocument(doc, library, today)
}
