package proof

import (
	"errors"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/uuid"

	"daytank/planner/idletest"
	"daytank/planner/quantity"
	"daytank/procedures/record"
)

var ended = time.Date(2026, 3, 14, 12, 0, 0, 0, time.UTC)

// chain seals bodies after a created one.
func chain(t *testing.T, bodies ...record.Body) []record.Event {
	t.Helper()
	id := uuid.MustParse("018e3c5a-7b1d-7cc4-9a6e-2f1d3b5c7e90")
	all := append([]record.Body{record.Created{Asset: "VAN-07", Number: 1, Title: "spring"}}, bodies...)
	events, _, err := record.Seal(record.Genesis(id), record.Stamp{At: ended, By: "Mara Quill", Run: id}, all...)
	if err != nil {
		t.Fatal(err)
	}
	return events
}

// steady makes a hot or cold test of ten minutes.
func steady(phase idletest.Phase, state idletest.State, first float64) idletest.Test {
	t := idletest.Test{Phase: phase, State: state, Measure: idletest.Corrections, Unit: idletest.CubicMillimetres, Samples: idletest.Samples{Corrections: make([]idletest.Series, 2)}}
	for i := range 121 {
		at, wave := 5*float64(i), 0.1*float64(i%3-1)
		t.Samples.Corrections[0].Add(at, first+wave)
		t.Samples.Corrections[1].Add(at, -first-wave)
		coolant := 86.0
		if state == idletest.Cold {
			coolant = 12 + float64(i)/2
		}
		t.Samples.Coolant.Add(at, coolant)
	}
	return t
}

// A test comes back from the record as it went in.
func TestRoundTrip(t *testing.T) {
	want := steady(idletest.Before, idletest.Cold, 2)
	want.On, want.Sign, want.Run, want.Asset = "2026-03-14", "adds fuel", 1, "VAN-07"
	want.Odometer, want.EngineHours = new(quantity.Kilometres(148200)), new(quantity.Hours(3120.5))
	want.Ambient, want.Density = new(quantity.Celsius(11.5)), new(quantity.KilogramsPerCubicMetre(835))
	want.Conditions = map[string]string{"gear": "neutral", "filter": "old"}
	between := []idletest.Intervening{{What: "battery off", Reset: true, Drive: true}, {What: "oil changed"}}
	body, blob := Added(want, Source{File: "cold.csv", Digest: record.Hash{1}}, between)
	events := chain(t, body)
	kept := func(h record.Hash) ([]byte, error) {
		if h != blob.Digest() {
			return nil, errors.New("no such blob")
		}
		return blob, nil
	}
	r, err := Of(record.Summary{Asset: "VAN-07"}, events, kept)
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff([]idletest.Test{want}, r.Tests, cmp.Comparer(func(a, b float64) bool { return a == b })); d != "" {
		t.Error(d)
	}
	if d := cmp.Diff(between, r.Between); d != "" {
		t.Error(d)
	}
	if _, err := Of(record.Summary{}, events, func(record.Hash) ([]byte, error) { return []byte("nothing"), nil }); err == nil || !strings.Contains(err.Error(), "event 2, idle test") {
		t.Errorf("damaged samples: %v", err)
	}
}

// What the walk notes by hand stands in for a test only where there is none.
func TestNoted(t *testing.T) {
	noted := record.TestAdded{Step: "test-before-hot", Phase: "before", State: "hot", Measurable: true, Readings: []record.TestReading{
		{Channel: "coolant", Text: "84", Unit: "degC"},
		{Channel: "idle speed", Text: "790", Unit: "rpm"},
		{Channel: "correction 1", Text: "-0.8", Unit: "mm3/stroke"},
		{Channel: "correction 2", Text: "0.8", Unit: "mm3/stroke"},
	}}
	r, err := Of(record.Summary{}, chain(t, noted), nil)
	if err != nil {
		t.Fatal(err)
	}
	if len(r.Tests) != 0 || len(r.All()) != 1 || r.All()[0].Samples.Corrections[0].V[0] != -0.8 || r.All()[0].Samples.Coolant.V[0] != 84 {
		t.Fatalf("%+v", r.All())
	}
	body, blob := Added(steady(idletest.Before, idletest.Hot, 1), Source{}, nil)
	r, err = Of(record.Summary{}, chain(t, noted, body, body), func(record.Hash) ([]byte, error) { return blob, nil })
	if err != nil {
		t.Fatal(err)
	}
	if len(r.All()) != 2 || r.Tests[1].Run != 2 {
		t.Errorf("%d tests, run %d", len(r.All()), r.Tests[1].Run)
	}
	none := record.TestAdded{Phase: "before", State: "hot", Readings: []record.TestReading{}}
	if r, err = Of(record.Summary{}, chain(t, none), nil); err != nil || r.Tests[0].Measure != idletest.None {
		t.Errorf("%+v, %v", r.Tests, err)
	}
	bottles := record.TestAdded{Phase: "after", State: "hot", Measurable: true, Measure: "leak-off", Readings: []record.TestReading{{Channel: "leak-off 1", Text: "24.5"}}}
	if r, err = Of(record.Summary{}, chain(t, bottles), nil); err != nil || r.Tests[0].Single[0] != 24.5 {
		t.Errorf("%+v, %v", r.Tests, err)
	}
}

// What the work itself changed is taken from its record, until the test after it.
func TestBetween(t *testing.T) {
	after, blob := Added(steady(idletest.After, idletest.Hot, 1), Source{}, nil)
	kept := func(record.Hash) ([]byte, error) { return blob, nil }
	for _, c := range []struct {
		name   string
		bodies []record.Body
		want   []string
	}{
		{"a new filter", []record.Body{record.Choice{Step: "filter-new", Option: "clean"}, after}, []string{"the fuel filter was renewed"}},
		{"the old filter", []record.Body{record.Choice{Step: "filter-new", Option: "kept"}, after}, nil},
		{"a dose before the test", []record.Body{record.StepDone{Step: "tank-dose"}, after}, []string{"the tank was dosed"}},
		{"a dose after it", []record.Body{after, record.StepDone{Step: "tank-dose"}}, nil},
	} {
		r, err := Of(record.Summary{}, chain(t, c.bodies...), kept)
		if err != nil {
			t.Fatal(err)
		}
		var got []string
		for _, x := range r.Between {
			got = append(got, x.What)
		}
		if d := cmp.Diff(c.want, got); d != "" {
			t.Errorf("%s: %s", c.name, d)
		}
	}
}

func TestDue(t *testing.T) {
	before, blob := Added(func() idletest.Test {
		t := steady(idletest.Before, idletest.Hot, 1)
		t.Conditions = map[string]string{"gear": "neutral"}
		return t
	}(), Source{}, nil)
	after, _ := Added(steady(idletest.After, idletest.Hot, 1), Source{}, nil)
	kept := func(record.Hash) ([]byte, error) { return blob, nil }
	run := record.RunEnded{Step: "clean-run", Reason: "as planned", RunMS: 1}
	limits := Limits{Days: 7, Distance: quantity.Kilometres(200), Hours: quantity.Hours(25)}
	km := func(x float64) Use { return Use{Odometer: new(quantity.Kilometres(x))} }
	hours := func(x float64) Use { return Use{EngineHours: new(quantity.Hours(x))} }
	for _, c := range []struct {
		name    string
		bodies  []record.Body
		was, is Use
		after   time.Duration
		wanted  bool
		due     bool
		why     string
	}{
		{"a day", []record.Body{before, run}, Use{}, Use{}, 24 * time.Hour, true, false, ""},
		{"just under a week", []record.Body{before, run}, Use{}, Use{}, 7*24*time.Hour - time.Second, true, false, ""},
		{"a week", []record.Body{before, run}, Use{}, Use{}, 7 * 24 * time.Hour, true, true, "7 days"},
		{"199 km", []record.Body{before, run}, km(1000), km(1199), time.Hour, true, false, ""},
		{"200 km", []record.Body{before, run}, km(1000), km(1200), time.Hour, true, true, "200 km"},
		{"25 h", []record.Body{before, run}, hours(100), hours(125), time.Hour, true, true, "25"},
		{"the test is in", []record.Body{before, run, after}, Use{}, Use{}, 30 * 24 * time.Hour, false, false, ""},
		{"never run", []record.Body{before}, Use{}, Use{}, 30 * 24 * time.Hour, false, false, ""},
	} {
		r, err := Of(record.Summary{Asset: "VAN-07"}, chain(t, c.bodies...), kept)
		if err != nil {
			t.Fatal(err)
		}
		d, wanted := DueOf(r, "VAN-07/1", c.was, c.is, limits, ended.Add(c.after), quantity.Printer{})
		if wanted != c.wanted || d.Due != c.due || !strings.Contains(d.Why, c.why) {
			t.Errorf("%s: wanted %v, due %v because %q", c.name, wanted, d.Due, d.Why)
		}
		if wanted {
			if got := strings.Join(d.Conditions, "; "); got != "hot: coolant at 86 °C, within 5 K; gear: neutral" {
				t.Errorf("%s: conditions %q", c.name, got)
			}
		}
	}
	recalled, err := Of(record.Summary{State: record.StateRecalled}, chain(t, before, run), kept)
	if err != nil {
		t.Fatal(err)
	}
	if _, wanted := DueOf(recalled, "VAN-07/1", Use{}, Use{}, limits, ended.Add(1000*time.Hour), quantity.Printer{}); wanted {
		t.Error("a test is wanted of a vehicle that must not be driven")
	}
}

// Six jobs, the spread rising by 0.5 each 1000 km: 5 is reached 8000 km after the
// first, which lies at 100 000 km with 1.
func TestLife(t *testing.T) {
	var tests []Aged
	for i := range 6 {
		test := steady(idletest.Before, idletest.Hot, 1+0.5*float64(i))
		test.Odometer, test.On = new(quantity.Kilometres(100000+1000*float64(i))), "2026-03-14"
		tests = append([]Aged{{Job: "VAN-07/1", Test: test}}, tests...)
	}
	cold := steady(idletest.Before, idletest.Cold, 1)
	cold.Odometer = new(quantity.Kilometres(100000))
	short := steady(idletest.After, idletest.Hot, 1)
	short.Odometer = new(quantity.Kilometres(100000))
	for i := range short.Samples.Corrections {
		s := &short.Samples.Corrections[i]
		s.T, s.V = s.T[:50], s.V[:50]
	}
	l := LifeOf("VAN-07", append(tests, Aged{Job: "VAN-07/2", Test: cold}, Aged{Job: "VAN-07/3", Test: short}), idletest.Rules{})
	if l.By != "odometer_km" || len(l.States) != 2 || len(l.States[0].Points) != 6 || len(l.LeftOut) != 1 || !strings.Contains(l.LeftOut[0], "VAN-07/3, after, hot: ") {
		t.Fatalf("%+v", l)
	}
	hot := l.States[0]
	if hot.Points[0].At != 100000 || hot.Limit != 5 || hot.Trend.Reaches == nil || *hot.Trend.Reaches < 107990 || *hot.Trend.Reaches > 108010 {
		t.Errorf("%+v", hot)
	}
	if l.States[1].Trend.Slope != nil {
		t.Error("a slope of one test")
	}
	tests[0].Test.Odometer = nil
	if l := LifeOf("VAN-07", tests, idletest.Rules{}); l.By != "date_days" {
		t.Errorf("by %s where one has no odometer", l.By)
	}
}
