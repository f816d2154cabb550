package record

import (
	"math"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/uuid"
)

// custom is a body that the package does not know.
type custom struct {
	kind Kind
	data any
}

func (c custom) Kind() Kind                   { return c.kind }
func (c custom) MarshalJSON() ([]byte, error) { return Canonical(c.data) }

type floatBody struct {
	Litres float64 `json:"litres"`
}

func (floatBody) Kind() Kind { return "poured" }

func TestSealChains(t *testing.T) {
	events := sampleChain(t)
	if err := Verify(jobVan, events, nil); err != nil {
		t.Fatal(err)
	}
	more, head, err := Seal(events[len(events)-1].Head(), stamp(), StepDone{Step: "air-out"}, Resumed{})
	if err != nil {
		t.Fatal(err)
	}
	if want := (Head{Job: jobVan, Seq: 8, Hash: more[1].Hash}); head != want {
		t.Errorf("head is %v, want %v", head, want)
	}
	if err := Verify(jobVan, append(events, more...), nil); err != nil {
		t.Error(err)
	}
}

func TestSealCutsTimeToTheMillisecondInUTC(t *testing.T) {
	s := stamp()
	s.At = s.At.In(time.FixedZone("", 3600))
	events, _, err := Seal(Genesis(jobVan), s, createdVan())
	if err != nil {
		t.Fatal(err)
	}
	want := time.Date(2026, 3, 14, 9, 26, 53, 589_000_000, time.UTC)
	if diff := cmp.Diff(want, events[0].At); diff != "" || events[0].At.Location() != time.UTC {
		t.Error(diff, events[0].At.Location())
	}
}

func TestSealOfNothing(t *testing.T) {
	events, head, err := Seal(Genesis(jobVan), stamp())
	if err != nil || len(events) != 0 || head != Genesis(jobVan) {
		t.Errorf("got %v, %v, %v", events, head, err)
	}
}

func TestSealRefuses(t *testing.T) {
	second := sampleChain(t)[0].Head()
	with := func(change func(*Stamp)) Stamp { s := stamp(); change(&s); return s }
	for _, c := range []struct {
		name, says string
		head       Head
		stamp      Stamp
		body       Body
	}{
		{"nobody", "nobody is named", second, with(func(s *Stamp) { s.By = "" }), Resumed{}},
		{"name not UTF-8", "by is", second, with(func(s *Stamp) { s.By = "Mara\xff" }), Resumed{}},
		{"name too long", "by is", second, with(func(s *Stamp) { s.By = strings.Repeat("m", 201) }), Resumed{}},
		{"no time", "without a time", second, with(func(s *Stamp) { s.At = time.Time{} }), Resumed{}},
		{"year 10000", "year 10000", second, with(func(s *Stamp) { s.At = time.Date(10000, 1, 1, 0, 0, 0, 0, time.UTC) }), Resumed{}},
		{"negative clock", "mono_ms is -1", second, with(func(s *Stamp) { s.MonoMS = -1 }), Resumed{}},
		{"clock beyond", "mono_ms", second, with(func(s *Stamp) { s.MonoMS = math.MaxInt64 }), Resumed{}},
		{"no job", "without a job", Head{}, stamp(), createdVan()},
		{"head of another job", "unbegun job", Head{Job: jobBoat, Hash: Genesis(jobVan).Hash}, stamp(), createdVan()},
		{"head before the first", "head at event -1", Head{Job: jobVan, Seq: -1}, stamp(), createdVan()},
		{"no place left", "head at event 9007199254740992", Head{Job: jobVan, Seq: MaxInteger}, stamp(), Resumed{}},
		{"no body", "event 2: no body", second, stamp(), nil},
		{"first is not created", "the first event is note", Genesis(jobVan), stamp(), Note{Text: "x"}},
		{"created again", "created stands after the first place", second, stamp(), createdVan()},
		{"text not UTF-8", `Text: "a\xc3" is not UTF-8`, second, stamp(), Note{Text: "a\xc3"}},
		{"nested text not UTF-8", "Readings[1].Text", second, stamp(), TestAdded{Readings: []TestReading{{}, {Text: "\xff"}}}},
		{"float", "Litres: 2 is a float", second, stamp(), floatBody{2}},
		{"beyond 2^53", "beyond ±2^53", second, stamp(), Reading{RunMS: MaxInteger + 1}},
		{"body as list", "not a JSON object", second, stamp(), custom{"poured", []any{}}},
		{"key in upper case", `key "Litres"`, second, stamp(), custom{"poured", map[string]any{"Litres": "2"}}},
		{"nested key", `key "a-b"`, second, stamp(), custom{"poured", map[string]any{"x": []any{map[string]any{"a-b": 1}}}}},
		{"empty key", `key ""`, second, stamp(), custom{"poured", map[string]any{"": 1}}},
		{"kind", "kind is", second, stamp(), custom{"Poured", map[string]any{}}},
		{"kind too long", "kind is", second, stamp(), custom{Kind(strings.Repeat("k", 33)), map[string]any{}}},
		{"too large", "want at most 1048576", second, stamp(), Note{Text: strings.Repeat("a", MaxLine)}},
	} {
		events, head, err := Seal(c.head, c.stamp, c.body)
		if err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: got %v, want an error with %q", c.name, err, c.says)
		}
		if events != nil || head != c.head {
			t.Errorf("%s: events or another head beside the error", c.name)
		}
	}
}

func TestSealTakesNumbersUpTo2To53(t *testing.T) {
	for _, n := range []int64{MaxInteger, -MaxInteger} {
		e := mustSeal(t, sampleChain(t)[0].Head(), Clock{DifferenceMS: n})[0]
		if got, err := As[Clock](e); err != nil || got.DifferenceMS != n {
			t.Errorf("got %v, %v", got, err)
		}
	}
}

// What stands at the very limits of the format is sealed and reads back.
func TestSealTakesWhatIsAtTheLimits(t *testing.T) {
	second := sampleChain(t)[0].Head()
	with := func(change func(*Stamp)) Stamp { s := stamp(); change(&s); return s }
	rest := len(mustSeal(t, second, Note{})[0].Line())
	for _, c := range []struct {
		name  string
		head  Head
		stamp Stamp
		body  Body
	}{
		{"longest name", second, with(func(s *Stamp) { s.By = strings.Repeat("m", 200) }), Resumed{}},
		{"first year", second, with(func(s *Stamp) { s.At = time.Unix(0, 0) }), Resumed{}},
		{"last moment", second, with(func(s *Stamp) { s.At = time.Date(9999, 12, 31, 23, 59, 59, 999_999_999, time.UTC) }), Resumed{}},
		{"clock at 2^53", second, with(func(s *Stamp) { s.MonoMS = MaxInteger }), Resumed{}},
		{"place 2^53", Head{Job: jobVan, Seq: MaxInteger - 1, Hash: Hash{1}}, stamp(), Resumed{}},
		{"longest kind", second, stamp(), custom{Kind(strings.Repeat("k", 32)), map[string]any{}}},
		{"letters and digits of keys", second, stamp(), custom{"poured", map[string]any{"a": 1, "z": 2, "az_09": 3}}},
		{"longest line", second, stamp(), Note{Text: strings.Repeat("a", MaxLine-rest)}},
	} {
		events, _, err := Seal(c.head, c.stamp, c.body)
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		if got, err := ParseLine(events[0].Line()); err != nil || got.Hash != events[0].Hash {
			t.Errorf("%s: does not read back: %v", c.name, err)
		}
	}
}

func TestSealTakesTheZeroRun(t *testing.T) {
	s := stamp()
	s.Run, s.MonoMS = uuid.Nil, 0
	events, _, err := Seal(Genesis(jobVan), s, createdVan())
	if err != nil {
		t.Fatal(err)
	}
	if _, err := ParseLine(events[0].Line()); err != nil {
		t.Error(err)
	}
}
