package planner

import (
	"reflect"
	"strings"

	"daytank/planner/engine"
	"daytank/planner/fluid"
	"daytank/planner/quantity"
	"daytank/planner/strict"
)

// Job is what a job file says, read and resolved: everything a plan rests on.
// Pointers and empty texts are what was not answered.
type Job struct {
	Title       string
	Asset       string // what the shop calls the vehicle, such as VAN-07
	Date        Date
	Odometer    *quantity.Distance
	EngineHours *quantity.Duration
	LastClean   *LastClean
	Engine      engine.Engine
	Fluid       fluid.Fluid
	Rig         Rig
	Run         []Stage
	Site        Site
	Condition   Condition
	TankDose    *TankDose
	// OldFuelFlash is the flash point of the fuel that was in the lines: 55 °C
	// (EN 590) unless fuel_flash_point says otherwise.
	OldFuelFlash quantity.Temperature

	// Assumed names the figures that were taken from the layout or from this
	// program's own assumptions, by their path in the job file.
	Assumed []string
	// Unanswered names the questions about engine, rig and condition that were
	// not answered, by their path.
	Unanswered []string

	doc     *strict.Document
	library *engine.Library
}

// Date is a day of the civil calendar; the zero Date is no day.
type Date struct{ Year, Month, Day int }

// LastClean is when this engine was last cleaned.
type LastClean struct {
	On          Date
	Odometer    *quantity.Distance
	EngineHours *quantity.Duration
}

// Rig is the plumbing between container and engine.
type Rig struct {
	Container    Container
	Charge       *quantity.Volume // poured in; whole packs where not given
	Feed         string           // engine | pump
	FeedPump     FeedPump         // with feed: pump
	SupplyHose   Hose
	ReturnHose   Hose
	ReturnFixed  *bool // the return hose is clamped or tied in the container; nil when not answered
	Lift         quantity.Length
	ReturnLift   quantity.Length
	Taps         bool
	MinorLoss    float64
	FilterInLoop bool
	SupplyDrop   quantity.Pressure // of an inline filter
	ReturnDrop   quantity.Pressure
	ToWaste      bool // the return is not led back
	FirstFlush   FirstFlush
	Coil         *Coil
	WatchTime    quantity.Duration
	NonReturn    bool // a non-return valve in the supply
}

// Container is what the fluid is drawn from.
type Container struct {
	Capacity     quantity.Volume
	Diameter     quantity.Length // 0 when unknown
	PickupHeight quantity.Length
	PickupBore   quantity.Length
	Unusable     *quantity.Volume // below which air is drawn, if it is known
	Closed       *bool            // lid with a vent and tight hose holes; nil when not answered
}

// FeedPump is an electric pump between container and engine.
type FeedPump struct {
	Pressure quantity.Pressure
	Flow     quantity.Flow
}

// Hose is one of the two hoses of the rig.
type Hose struct {
	Bore, Length    quantity.Length
	Rating          *quantity.Temperature // nil when unknown
	FuelRated       *bool                 // nil when not answered
	Standard        string                // what it is rated to; "none", or empty when not answered
	Material        string                // rubber | clear-pvc; empty when not answered
	WorkingPressure *quantity.Pressure
}

// FirstFlush is the fluid that is led to waste until the old fuel is out.
type FirstFlush struct {
	Auto   bool            // twice line and filter
	Volume quantity.Volume // otherwise
}

// Coil is the return led through a bucket of water.
type Coil struct {
	Material string // metal | rubber
	Length   quantity.Length
	Water    quantity.Volume
}

// Stage is one part of the run.
type Stage struct {
	Soak      bool
	SoakUntil *quantity.Temperature // a soak that ends at a temperature; For is then computed
	Speed     quantity.Speed        // of a running stage
	Idle      bool                  // the speed is the idle speed
	For       quantity.Duration
}

// Site is where and by whom the work is done.
type Site struct {
	Ambient quantity.Temperature
	Place   string // outdoors | extraction | indoors
	People  int
	AtRisk  []string // pregnant | under-18 | asthma
}

// Condition is what was found at the vehicle; empty where not answered.
type Condition struct {
	Symptom         string // in words; "none" when there is none
	StoredFaults    string // none | electrical | other
	FuelSample      string // clean | water | petrol | metal
	Leaks           string // none | weeping | leaking
	OilLevel        string // normal | high
	Seals           string // sound | hardened
	SootLamp        string // off | on | regenerating
	WorstCorrection *quantity.PerStroke
}

// TankDose is another product, for the vehicle's own tanks.
type TankDose struct {
	Min, Max quantity.Dose
	Measure  quantity.Volume
	Tanks    []Tank
}

// Tank is one of the vehicle's tanks.
type Tank struct {
	Name           string
	Capacity, Fuel quantity.Volume
}

// Alone tells whether one person works.
func (s Site) Alone() bool { return s.People < 2 }

// Fastened tells whether the return hose is known to be clamped or tied.
func (r Rig) Fastened() bool { return r.ReturnFixed != nil && *r.ReturnFixed }

// IsClosed tells whether the container is known to have a lid with a vent.
func (c Container) IsClosed() bool { return c.Closed != nil && *c.Closed }

// File gives the resolved job as a job file: the text it was read from, with
// profile and changes written in. Reading it again gives the same job.
func (j Job) File() []byte {
	text, err := j.doc.Bytes()
	if err != nil {
		panic("planner: a job that was read cannot be written: " + err.Error())
	}
	return text
}

// InWords gives a place in a job file in words: rig.supply_hose.bore is the supply hose bore.
func InWords(path string) string {
	if _, rest, ok := strings.Cut(path, "."); ok {
		path = rest
	}
	return strings.NewReplacer("_", " ", ".", " ").Replace(path)
}

// AllInWords is [InWords] of each.
func AllInWords(paths []string) []string {
	all := make([]string, len(paths))
	for i, path := range paths {
		all[i] = InWords(path)
	}
	return all
}

// Same tells whether two jobs say the same, however it is written.
func (j Job) Same(other Job) bool {
	j.doc, j.library, other.doc, other.library = nil, nil, nil, nil
	return reflect.DeepEqual(j, other)
}

// With gives the job with one value changed, at a path of keys and list
// positions such as rig.charge or run.0.for. The value is written as in a job
// file; empty takes it away. The error names every problem of the changed job.
func (j Job) With(path, value string) (Job, error) {
	doc := j.doc.Copy()
	if err := doc.Set(path, value); err != nil {
		return Job{}, err
	}
	return readDocument(doc, j.library, j.Date)
}

// WithText is [Job.With] for one plain text, which is quoted as needed.
func (j Job) WithText(path, text string) (Job, error) {
	doc := j.doc.Copy()
	if err := doc.SetText(path, text); err != nil {
		return Job{}, err
	}
	return readDocument(doc, j.library, j.Date)
}
