package procedures

import (
	"errors"
	"regexp"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"daytank/planner/strict"
	"daytank/safety"
)

func library(t testing.TB) *Library {
	t.Helper()
	l, err := Shipped()
	if err != nil {
		t.Fatal(err)
	}
	return l
}

func shippedText(t testing.TB) string {
	t.Helper()
	text, err := data.ReadFile("library/rail-pumped.yaml")
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// Every shipped procedure: reads, defers to those who come first, gives each
// step a reason, a time and a source, and demands no more than hands will type.
func TestShippedProcedures(t *testing.T) {
	all := library(t).All()
	if len(all) == 0 {
		t.Fatal("no procedure is shipped")
	}
	for _, p := range all {
		for _, s := range p.Steps() {
			if s.Why == "" || s.Takes <= 0 || s.Source == "" {
				t.Errorf("%s, step %s: why %q, takes %v, source %q", p.ID, s.ID, s.Why, s.Takes, s.Source)
			}
		}
		if text := strings.Join(p.Cautions, " "); !strings.Contains(text, "maker") || !strings.Contains(text, "local rules") {
			t.Errorf("%s: its cautions do not defer to maker and local rules: %s", p.ID, text)
		}
		if p.Own {
			t.Errorf("%s is shipped and called the user's own", p.ID)
		}
		for _, phase := range Phases {
			found := false
			for _, x := range p.Phases {
				found = found || x.ID == phase && len(x.Steps) > 0
			}
			if !found {
				t.Errorf("%s: phase %s is missing", p.ID, phase)
			}
		}
	}
}

// No word of a make: data that is shipped names no brand, which shows as a
// capital inside a sentence that is none of the terms of the trade.
func TestShippedTextsNameNoMake(t *testing.T) {
	allowed := regexp.MustCompile(`^(I|CO2|CO₂|HSE|UK|US|EU|NFPA|ISO|CFR|TM|Army|EN|H30\d|H31\d|Decision|EC|SAE|OSHA|L/h|B|C|USED)$`)
	capital := regexp.MustCompile(`[a-z,;] ([A-Z][A-Za-z0-9/₂]*)`)
	for _, p := range library(t).All() {
		for _, s := range p.Steps() {
			for _, text := range []string{s.Say, s.Why, s.How} {
				for _, m := range capital.FindAllStringSubmatch(text, -1) {
					if !allowed.MatchString(m[1]) && !strings.Contains(text, ". "+m[1]) {
						t.Errorf("step %s: %q in %q", s.ID, m[1], text)
					}
				}
			}
		}
	}
}

// Leaving out any control, or what it demands, is refused, whoever wrote the
// procedure.
func TestNoControlCanBeLeftOut(t *testing.T) {
	l := library(t)
	if n, all := len(l.All()), len(l.Engines().Layouts()); n != all {
		t.Errorf("%d procedures for %d layouts", n, all)
	}
	for _, p := range l.All() {
		layout, _ := l.Engines().Layout(p.Layouts[0])
		text, err := data.ReadFile("library/" + p.ID + ".yaml")
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range safety.Controls(layout) {
			step := ""
			for _, s := range p.Steps() {
				if s.Control == c.ID {
					step = s.ID
				}
			}
			without := strings.Replace(string(text), "      - same_as: "+step+"\n", "", 1)
			if without == string(text) {
				t.Fatalf("%s, control %s: step %q does not stand in the procedure", p.ID, c.ID, step)
			}
			err := library(t).Add(p.ID+".yaml", []byte(without))
			if err == nil || !strings.Contains(err.Error(), "control "+c.ID+" is missing") {
				t.Errorf("%s without %s: %v", p.ID, c.ID, err)
			}
		}
	}
}

// A step that leaves its control to circumstances is refused when they are not
// those of the plan; see the tests of composing. One that a procedure of one's
// own adds is taken.
func TestOwnProcedureMayAdd(t *testing.T) {
	l := library(t)
	more := strings.Replace(shippedText(t), "      - same_as: parked\n",
		"      - same_as: parked\n      - {id: boat-moored, kind: do, say: {en: \"Moor the boat.\"}, why: {en: \"It drifts.\"}, takes: 1 min, source: harbour rules}\n", 1)
	if err := l.Add("rail-pumped.yaml", []byte(more)); err != nil {
		t.Fatal(err)
	}
	p, _ := l.For("rail-pumped")
	shipped, _ := library(t).ByID("rail-pumped")
	if !p.Own || len(p.Steps()) != len(shipped.Steps())+1 {
		t.Errorf("own %v, %d steps, shipped has %d", p.Own, len(p.Steps()), len(shipped.Steps()))
	}
}

// Each mistake with its place and what it says.
func TestProblemsOfAProcedure(t *testing.T) {
	step := "      - {id: look, kind: do, say: {en: \"Look.\"}, why: {en: \"To see.\"}, takes: 1 min, source: nobody}\n"
	base := "procedure: 1\nid: own\nlayouts: [rail-pumped]\ntitle: {en: \"Own\"}\ncautions: [{en: \"maker first\"}]\nphases:\n  - phase: decide\n    title: {en: \"Decide\"}\n    steps:\n"
	tests := []struct{ name, step, want string }{
		{"unknown key", strings.Replace(step, "takes", "taeks", 1), "10:"},
		{"unknown kind", strings.Replace(step, "kind: do", "kind: dance", 1), `"dance" is not one of do, confirm`},
		{"no why", strings.Replace(step, "why: {en: \"To see.\"}, ", "", 1), "phases.0.steps.0.why: is missing"},
		{"bad id", strings.Replace(step, "id: look", "id: Look_Here", 1), "not lower-case words joined by hyphens"},
		{"unknown placeholder", strings.Replace(step, "Look.", "Look at {moon}.", 1), "{moon} is not a plan value"},
		{"unknown hazard", strings.Replace(step, "takes", "hazard: bears, takes", 1), `hazard "bears" is not known`},
		{"until nowhere", strings.Replace(step, "takes", "until: later, takes", 1), `until "later" is not a step`},
		{"no demand", strings.Replace(step, "kind: do", "kind: confirm", 1), "demand: is missing"},
		{"demand of nothing", strings.Replace(step, "kind: do", "kind: confirm, demand: {ask: {en: \"?\"}}", 1), "wants a word or a number"},
		{"demand of a yes", strings.Replace(step, "kind: do", "kind: confirm, demand: {ask: {en: \"?\"}, word: yes}", 1), "typed without looking"},
		{"choice of one", strings.Replace(step, "kind: do", "kind: choice, options: [{key: a, say: {en: a}, goes: on}]", 1), "at least two answers"},
		{"choice into nothing", strings.Replace(step, "kind: do", "kind: choice, options: [{key: a, say: {en: a}, goes: \"mend:x\"}, {key: b, say: {en: b}, goes: on}]", 1), `branch "x", which is not there`},
		{"choice that writes nothing", strings.Replace(step, "kind: do", "kind: choice, sets: condition.leaks, options: [{key: a, say: {en: a}, goes: on}, {key: b, say: {en: b}, value: none, goes: on}]", 1), "does not say what it writes"},
		{"sets what may not be", strings.Replace(step, "takes", "sets: engine.layout, takes", 1), `"engine.layout" is not one of`},
		{"bad condition", strings.Replace(step, "takes", "applies: weather is fine, takes", 1), `"weather" is not a known fact`},
		{"condition never true", strings.Replace(step, "takes", "applies: coil is maybe, takes", 1), `coil is never "maybe"`},
		{"twice", step + step, `step "look" is there twice`},
		{"shared step unknown", "      - {same_as: nothing-such}\n", `no shared step "nothing-such"`},
		{"without unit", strings.Replace(step, "1 min", "1", 1), "a unit is missing"},
		{"hold of a wait", strings.Replace(step, "kind: do", "kind: timer, timer: {at_least: 1 min}, hold: {alone: refuse}", 1), "hold: only what is done, confirmed or read"},
		{"hold of a choice", strings.Replace(step, "kind: do", "kind: choice, hold: {alone: refuse}, options: [{key: a, say: {en: a}, goes: on}, {key: b, say: {en: b}, goes: on}]", 1), "hold: only what is done, confirmed or read"},
		{"hold of the run", strings.Replace(step, "kind: do", "kind: run, hold: {alone: refuse}", 1), "hold: only what is done, confirmed or read"},
		{"too long", strings.Replace(step, "Look.", strings.Repeat("Look. ", 40), 1), "characters, more than 200"},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			_, err := library(t).Read("own.yaml", []byte(base+test.step))
			var problems strict.Problems
			if !errors.As(err, &problems) {
				t.Fatalf("%v", err)
			}
			found := false
			for _, p := range problems {
				found = found || strings.Contains(p.Error(), test.want) && p.Line > 0 && p.File == "own.yaml"
			}
			if !found {
				t.Errorf("nothing says %q:\n%v", test.want, err)
			}
		})
	}
}

func TestConditions(t *testing.T) {
	facts := map[string]string{"layout": "rail-pumped", "coil": "yes", "people": "alone"}
	for text, want := range map[string]bool{
		"coil is yes":                             true,
		"coil is no":                              false,
		"layout in [rotary, rail-pumped]":         true,
		"layout in [rotary]":                      false,
		"coil is yes and people is alone":         true,
		"coil is yes and people is together":      false,
		"layout in [rail-pumped] and coil is yes": true,
		"soak is yes":                             false,
	} {
		c, err := ParseCondition(text)
		if err != nil {
			t.Errorf("%q: %v", text, err)
			continue
		}
		if got := c.Holds(facts); got != want {
			t.Errorf("%q holds: %v, want %v", text, got, want)
		}
	}
	if !Condition(nil).Holds(facts) {
		t.Error("no condition does not hold")
	}
	for _, text := range []string{"", "coil", "coil is", "coil yes", "coil in yes", "coil is yes and", "is yes"} {
		if c, err := ParseCondition(text); err == nil {
			t.Errorf("%q is read as %v", text, c)
		}
	}
}

func TestFill(t *testing.T) {
	got := Fill("pour {charge}, {packs} packs, {nothing}", map[string]string{"charge": "1.80 L", "packs": "3"})
	if want := "pour 1.80 L, 3 packs, {nothing}"; got != want {
		t.Error(cmp.Diff(want, got))
	}
}

func FuzzReadProcedure(f *testing.F) {
	f.Add(shippedText(f))
	f.Add("procedure: 1\nid: own\nlayouts: [rail-pumped]\nphases: [{phase: decide, steps: [{same_as: parked}]}]")
	f.Add("phases: [[[[{}]]]]")
	l := library(f)
	f.Fuzz(func(t *testing.T, text string) {
		p, err := l.Read("own.yaml", []byte(text))
		var problems strict.Problems
		if err != nil && !errors.As(err, &problems) {
			t.Fatalf("%T %v", err, err)
		}
		if err == nil && len(p.Steps()) == 0 {
			t.Fatal("a procedure without steps was taken")
		}
	})
}
