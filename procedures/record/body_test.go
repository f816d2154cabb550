package record

import (
	"encoding/json"
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

var (
	litres = int64(3_400_000)
	warmth = int64(313_150)
)

// everyBody has one body of each kind with every member set, in the order of
// the kinds.
var everyBody = []Body{
	Created{"VAN-07", 3, "title", "rail-pumped", "rail-pumped", "0.1.0", true, true, Hash{1}, Hash{2}, Hash{3}, Hash{4}},
	Replanned{"leaks", "condition.leaks", "weeping", Hash{1}, Hash{2}, Hash{3}, Hash{4}},
	StepStarted{"pump-dead"},
	StepDone{"pump-dead"},
	StepSkipped{"coil-in", "no coil here"},
	StepReopened{"air-out", "bubbles"},
	Acknowledged{"warm", "warm: the return gets warm", "the return gets warm", "read"},
	Cleared{"pump-dead", "dead 417", "417", "pump-back"},
	Value{"caps-fitted", "count", "4", "count"},
	Choice{"leaks", "dry", "on"},
	Timer{"soak", MarkEnded, 600_000, "34.5"},
	RunStarted{"engine-run"},
	Reading{"engine-run", 1, 120_000, "3.40", "L", "40", "degC", &litres, &warmth, true},
	Observation{"engine-run", "bubbles"},
	Alarm{"engine-run", "stop level", "switch off", true},
	Stage{"engine-run", 2, "soak"},
	RunEnded{"engine-run", "stop level", 1_800_000},
	Corrected{12, "3.50", "misread"},
	Deviation{"air-out", "primed by hand"},
	Note{"air-out", "took two tries"},
	Photo{"photographed", "lines.jpg", Hash{5}},
	Emergency{},
	Stopped{"smell of fuel"},
	Paused{"lunch"},
	Resumed{},
	HandedOver{"Tobi Fenn", "Mara Quill"},
	HoldReleased{"rig-tight", "Ines Holm", true, "dry"},
	Transcribed{"Tobi Fenn", "2026-03-12", "no battery"},
	Clock{-2500},
	TestAdded{
		Step: "test-hot", Phase: "before", State: "hot", Readings: []TestReading{{"1", "-0.8", "mm3/stroke"}}, Measurable: true,
		Measure: "corrections", Unit: "mm3/stroke", Sign: "adds fuel", Density: "835 kg/m3", On: "2026-03-14", Odometer: "148200 km",
		EngineHours: "3120 h", Ambient: "18 degC", Conditions: []TestCondition{{"gear", "neutral"}}, Between: []Intervention{{"oil changed", true, true}},
		File: "idle.csv", Source: Hash{7}, Samples: Hash{6},
	},
	ReadyForReview{},
	Signed{SignOffWork, "fit", "clean work", true, "signature"},
	SentBack{SignOffWork, []Remark{{"leak-check", "no photo"}}},
	Explained{"leak-check", "phone was flat"},
	Recalled{"Mara Quill", "2026-03-15T08:00:00Z", "weeping at the filter"},
	Amended{31, "leak-check", "weeping", "seen on the drive"},
	Transferred{"bay 1", "office", "018f3a5c-9000-7000-8000-000000000001", "018f3a5c-9000-7000-8000-000000000002"},
}

// The kinds as the records have them; the list only grows at its end.
var kindTexts = strings.Split("created, replanned, step started, step done, step skipped, step reopened, acknowledged, cleared, "+
	"value, choice, timer, run started, reading, observation, alarm, stage, run ended, corrected, deviation, note, photo, emergency, "+
	"stopped, paused, resumed, handed over, hold released, transcribed, clock, test added, ready for review, signed, sent back, "+
	"explained, recalled, amended, transferred", ", ")

func TestEveryKindHasItsBody(t *testing.T) {
	var got []string
	for _, b := range everyBody {
		got = append(got, string(b.Kind()))
		if !b.Kind().wellFormed() || !b.Kind().Known() {
			t.Errorf("%q is not well formed, or not known", b.Kind())
		}
	}
	if diff := cmp.Diff(kindTexts, got); diff != "" {
		t.Error(diff)
	}
	if len(decoders()) != len(kindTexts) {
		t.Errorf("%d kinds are read, want %d", len(decoders()), len(kindTexts))
	}
}

func TestEveryBodyReadsBack(t *testing.T) {
	for _, want := range everyBody {
		for i := range reflect.TypeOf(want).NumField() {
			if reflect.ValueOf(want).Field(i).IsZero() {
				t.Errorf("%s: field %d of the example is not set", want.Kind(), i)
			}
		}
		e := sealedAlone(t, want)
		if e.Kind != KindCreated {
			if _, err := As[Created](e); err == nil {
				t.Errorf("%s is read as created", e.Kind)
			}
		}
		got, err := e.Decode()
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(want, got); diff != "" {
			t.Error(diff)
		}
	}
}

func sealedAlone(t *testing.T, body Body) Event {
	t.Helper()
	head := Genesis(jobVan)
	if body.Kind() != KindCreated {
		head = sampleChain(t)[0].Head()
	}
	return mustSeal(t, head, body)[0]
}

// Optional members are absent when empty, so that records of older programs and
// of this one look the same.
func TestOptionalMembersAreAbsent(t *testing.T) {
	for _, c := range []struct {
		body Body
		want string
	}{
		{Cleared{Step: "a", Answer: "dead"}, `{"answer":"dead","step":"a"}`},
		{Timer{Step: "a", Mark: MarkStarted}, `{"mark":"started","planned_ms":0,"step":"a"}`},
		{Reading{Step: "a"}, `{"run_ms":0,"stage":0,"step":"a"}`},
		{Reading{Step: "a", LevelUL: new(int64)}, `{"level_ul":0,"run_ms":0,"stage":0,"step":"a"}`},
		{Note{Text: "x"}, `{"text":"x"}`},
		{TestAdded{Step: "a", Readings: []TestReading{}}, `{"measurable":false,"phase":"","readings":[],"state":"","step":"a"}`},
		{Signed{Which: SignOffResult}, `{"verdict":"","which":"result"}`},
		{Emergency{}, `{}`},
	} {
		if e := sealedAlone(t, c.body); string(e.Body) != c.want {
			t.Errorf("%s: got %s, want %s", e.Kind, e.Body, c.want)
		}
	}
}

func TestLaterMembersAreKeptAndLeftAlone(t *testing.T) {
	e := sealedAlone(t, custom{KindNote, map[string]any{"text": "x", "mood": "good", "stars": []any{1}}})
	read, err := ParseLine(e.Line())
	if err != nil {
		t.Fatal(err)
	}
	if want := `{"mood":"good","stars":[1],"text":"x"}`; string(read.Body) != want {
		t.Errorf("body is %s, want %s", read.Body, want)
	}
	if got, err := As[Note](read); err != nil || got != (Note{Text: "x"}) {
		t.Errorf("got %v, %v", got, err)
	}
}

func TestAsSaysWhatDoesNotFit(t *testing.T) {
	e := sealedAlone(t, custom{KindNote, map[string]any{"text": 7}})
	if got, err := As[Note](e); err == nil || got != (Note{}) || !strings.Contains(err.Error(), "event 2: body of note") {
		t.Errorf("got %v, %v", got, err)
	}
	if _, err := As[Photo](e); err == nil || err.Error() != "event 2: note read as photo" {
		t.Errorf("got %v", err)
	}
}

func TestDecodeOfAnUnknownKindIsNothing(t *testing.T) {
	e := sealedAlone(t, custom{"towed away", map[string]any{"km": 12}})
	if body, err := e.Decode(); body != nil || err != nil {
		t.Errorf("got %v, %v", body, err)
	}
}

func TestBlobsNamed(t *testing.T) {
	want := map[Kind][]Hash{
		KindCreated:   {{1}, {2}, {3}, {4}},
		KindReplanned: {{1}, {2}, {3}, {4}},
		KindPhoto:     {{5}},
		KindTestAdded: {{6}},
	}
	for _, b := range everyBody {
		if got := sealedAlone(t, b).Blobs(); !slices.Equal(got, want[b.Kind()]) {
			t.Errorf("%s names %v, want %v", b.Kind(), got, want[b.Kind()])
		}
	}
	if got := sealedAlone(t, TestAdded{Step: "a"}).Blobs(); got != nil {
		t.Errorf("a test without a log names %v", got)
	}
	if got := (Event{Kind: KindPhoto, Body: json.RawMessage(`{"blob":1}`)}).Blobs(); got != nil {
		t.Errorf("a body that does not fit names %v", got)
	}
}
