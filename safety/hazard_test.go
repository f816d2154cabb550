package safety

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"daytank/planner/strict"
)

// Every shipped file reads, says everything, and says it to people: no empty
// text, nothing left open.
func TestShippedHazards(t *testing.T) {
	all, err := Hazards()
	if err != nil {
		t.Fatal(err)
	}
	var ids []string
	for _, h := range all {
		ids = append(ids, h.ID)
		spoken(t, "hazard "+h.ID, h.ID, h.Name, h.What, h.Control, h.IfItDid, h.Proof, h.Source)
		if got, ok := HazardByID(h.ID); !ok || got != h {
			t.Errorf("hazard %s is not found by its id", h.ID)
		}
	}
	want := []string{
		"electric", "exhaust", "fire", "flooded-cylinder", "fuel-spray", "hot-fluid",
		"moving-parts", "runaway", "skin-injection", "spill", "static", "swallowing",
	}
	if diff := cmp.Diff(want, ids); diff != "" {
		t.Errorf("by id (-want +got):\n%s", diff)
	}
	for _, id := range []string{"", "dragons", "Fire"} {
		if h, ok := HazardByID(id); ok || h != (Hazard{}) {
			t.Errorf("%q finds hazard %q", id, h.ID)
		}
	}
}

func TestShippedEmergency(t *testing.T) {
	e, err := EmergencyCards()
	if err != nil {
		t.Fatal(err)
	}
	spoken(t, "emergency", e.First, e.Source)
	spoken(t, "leave safe", e.LeaveSafe...)
	if len(e.LeaveSafe) == 0 {
		t.Error("nothing says how the work is left safe")
	}
	var ids []string
	for _, c := range e.Cards {
		if slices.Contains(ids, c.ID) {
			t.Errorf("two cards are called %s", c.ID)
		}
		ids = append(ids, c.ID)
		spoken(t, "card "+c.ID, append([]string{c.ID, c.Say, c.Source}, c.Do...)...)
		if len(c.Do) == 0 {
			t.Errorf("card %s says nothing to do", c.ID)
		}
	}
	for _, id := range []string{"runaway", "fire", "injection", "swallowed"} {
		if !slices.Contains(ids, id) {
			t.Errorf("no card for %s among %v", id, ids)
		}
	}
	if !strings.Contains(strings.ToLower(e.First), "key") {
		t.Errorf("the first thing, %q, is not the key", e.First)
	}
}

func spoken(t *testing.T, of string, texts ...string) {
	t.Helper()
	for _, text := range texts {
		// The number to call is a setting; who shows the text fills it in.
		text = strings.ReplaceAll(text, "{emergency_number}", "the number")
		if strings.TrimSpace(text) == "" || strings.ContainsAny(text, "{}\n") {
			t.Errorf("%s: a text is empty or not for reading: %q", of, text)
		}
	}
}

const hazardFile = `hazard: 1
id: fire
name: {en: "Fire"}
what: {en: "Fuel on hot metal burns."}
control: {en: "No flame, no spark, no charger near it."}
if_it_did: {en: "Get away, then call."}
proof: seen
source: common practice, no source
`

func TestReadHazard(t *testing.T) {
	got, err := ReadHazard("fire.yaml", []byte(hazardFile))
	want := Hazard{
		ID: "fire", Name: "Fire", What: "Fuel on hot metal burns.", Control: "No flame, no spark, no charger near it.",
		IfItDid: "Get away, then call.", Proof: "seen", Source: "common practice, no source",
	}
	if err != nil || got != want {
		t.Errorf("%+v, %v, want %+v", got, err, want)
	}
}

// altered is a file with one text replaced, and what is said of it.
type altered struct{ old, new, says string }

func (a altered) of(t *testing.T, file string) []byte {
	t.Helper()
	if strings.Count(file, a.old) != 1 {
		t.Fatalf("%q is not there once", a.old)
	}
	return []byte(strings.Replace(file, a.old, a.new, 1))
}

func TestReadHazardRefuses(t *testing.T) {
	const file = "fire.yaml"
	for _, a := range []altered{
		{"hazard: 1", "hazard: 2", "fire.yaml:1:9: hazard: 2 is outside 1 to 1"},
		{"hazard: 1\n", "", "fire.yaml:1:1: hazard: is missing"},
		{"id: fire\n", "", "fire.yaml:1:1: id: is missing"},
		{"id: fire", "id: ''", "fire.yaml:2:5: id: nothing is given"},
		{"Fire", "", "fire.yaml:3:12: name.en: nothing is given"},
		{`name: {en: "Fire"}`, `name: {de: "Feuer"}`, "fire.yaml:3:7: name.en: is missing"},
		{`name: {en: "Fire"}`, `name: Fire`, "fire.yaml:3:7: name: a mapping (key: value) is wanted here"},
		{"what:", "where:", "fire.yaml:1:1: what: is missing\nfire.yaml:4:1: where: this key is not known here"},
		{"if_it_did:", "if_it_dit:", "fire.yaml:1:1: if_it_did: is missing\nfire.yaml:6:1: if_it_dit: this key is not known here; did you mean if_it_did?"},
		{"proof: seen", "proof: sworn", `fire.yaml:7:8: proof: "sworn" is not one of none, word, seen`},
		{"source: common", "source:\n  - common", "fire.yaml:9:3: source: one value is wanted here, not a list"},
		{"proof: seen", "proof: seen\nproof: word", "fire.yaml:8:1: proof: given twice, first on line 7"},
		{"proof: seen", "proof: &p seen", "fire.yaml:7:8: proof: anchors (&p) are not accepted: write the value out"},
	} {
		_, err := ReadHazard(file, a.of(t, hazardFile))
		var problems strict.Problems
		if !errors.As(err, &problems) || err.Error() != a.says {
			t.Errorf("%q for %q:\n%v\nwant\n%s", a.new, a.old, err, a.says)
		}
	}
}

const emergencyFile = `emergency: 1
first: {en: "Key off."}
source: common practice, no source
cards:
  - id: fire
    say: {en: "Fire"}
    do:
      - {en: "Get away."}
      - {en: "Call."}
    source: common practice, no source
leave_safe:
  - {en: "Key out."}
`

func TestReadEmergency(t *testing.T) {
	got, err := readEmergency("emergency.yaml", []byte(emergencyFile))
	want := Emergency{
		First:     "Key off.",
		Cards:     []EmergencyCard{{ID: "fire", Say: "Fire", Do: []string{"Get away.", "Call."}, Source: "common practice, no source"}},
		LeaveSafe: []string{"Key out."},
		Source:    "common practice, no source",
	}
	if diff := cmp.Diff(want, got); err != nil || diff != "" {
		t.Errorf("%v (-want +got):\n%s", err, diff)
	}
}

func TestReadEmergencyRefuses(t *testing.T) {
	for _, a := range []altered{
		{"emergency: 1", "emergency: 01", `e.yaml:1:12: emergency: "01" is not a whole number in plain digits`},
		{"first:", "fist:", "e.yaml:1:1: first: is missing\ne.yaml:2:1: fist: this key is not known here; did you mean first?"},
		{`first: {en: "Key off."}`, `first: {en: " "}`, "e.yaml:2:13: first.en: nothing is given"},
		{"    say: {en: \"Fire\"}\n", "", "e.yaml:5:5: cards.0.say: is missing"},
		{"Call.", "", "e.yaml:9:14: cards.0.do.1.en: nothing is given"},
		{"    do:\n      - {en: \"Get away.\"}\n      - {en: \"Call.\"}\n", "    do: []\n", "e.yaml:7:9: cards.0.do: at least one line is wanted"},
		{"leave_safe:\n  - {en: \"Key out.\"}\n", "leave_safe: []\n", "e.yaml:11:13: leave_safe: at least one line is wanted"},
		{"leave_safe:\n  - {en: \"Key out.\"}\n", "leave_safe: nothing\n", "e.yaml:11:13: leave_safe: a list is wanted here"},
		{"    source: common practice, no source\nleave", "    colour: red\nleave", "e.yaml:5:5: cards.0.source: is missing\ne.yaml:10:5: cards.0.colour: this key is not known here"},
	} {
		_, err := readEmergency("e.yaml", a.of(t, emergencyFile))
		var problems strict.Problems
		if !errors.As(err, &problems) || err.Error() != a.says {
			t.Errorf("%q for %q:\n%v\nwant\n%s", a.new, a.old, err, a.says)
		}
	}
	cards := emergencyFile[strings.Index(emergencyFile, "cards:"):strings.Index(emergencyFile, "leave_safe:")]
	_, err := readEmergency("e.yaml", altered{cards, "cards: []\n", ""}.of(t, emergencyFile))
	if err == nil || err.Error() != "e.yaml:4:8: cards: at least one card is wanted" {
		t.Errorf("no cards: %v", err)
	}
}

// Whatever the file, reading ends; what is accepted is complete, and what is
// refused says where.
func FuzzReadHazard(f *testing.F) {
	f.Add([]byte(hazardFile))
	f.Add([]byte(emergencyFile))
	for _, text := range []string{"", "{}", "[]", "hazard: 1", "a: &a [*a]", "\x00", "hazard: 1\n---\nhazard: 1", strings.Repeat("[", 100), `{"hazard": 1}`} {
		f.Add([]byte(text))
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		h, err := ReadHazard("f.yaml", text)
		if err != nil {
			var problems strict.Problems
			if !errors.As(err, &problems) || len(problems) == 0 {
				t.Fatalf("refused with %T, %v", err, err)
			}
			for _, p := range problems {
				if p.Message == "" || p.File != "f.yaml" {
					t.Fatalf("a problem that says nothing: %+v", p)
				}
			}
		} else {
			for _, s := range []string{h.ID, h.Name, h.What, h.Control, h.IfItDid, h.Source} {
				if strings.TrimSpace(s) == "" {
					t.Fatalf("accepted with an empty text: %+v", h)
				}
			}
			if !slices.Contains([]string{"none", "word", "seen"}, h.Proof) {
				t.Fatalf("accepted with proof %q", h.Proof)
			}
		}
		if e, err := readEmergency("f.yaml", text); err == nil && (e.First == "" || len(e.Cards) == 0 || len(e.LeaveSafe) == 0) {
			t.Fatalf("accepted with nothing to do: %+v", e)
		}
	})
}
