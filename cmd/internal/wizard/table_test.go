package wizard

import (
	"context"
	"strings"
	"testing"
	"unicode/utf8"

	"daytank/planner"
	"daytank/planner/strict"
)

// sample gives an answer that a question takes.
func sample(q Question) string {
	switch q.Path {
	case "asset":
		return "VAN-07"
	case "date", "last_clean.on":
		return "2026-03-01"
	case "rig.first_flush":
		return "300 mL"
	}
	for _, p := range []script{theVan, theirOwn} {
		if text := p.answers[q.Path]; text != "" {
			return text
		}
	}
	return ""
}

// Every question says where its answer stands, and the reader of job files knows
// that place.
func TestEveryQuestionStandsInTheJobFile(t *testing.T) {
	d := newDesk(t)
	seen := map[string]bool{}
	for _, q := range Questions() {
		for _, path := range q.Paths() {
			if seen[path] {
				t.Errorf("%s is asked twice", path)
			}
			seen[path] = true
			doc, err := strict.Parse("job.yaml", []byte("job: 1\n"))
			if err != nil {
				t.Fatal(err)
			}
			if err := change(doc, Edit{Path: path, Text: "x"}); err != nil {
				t.Fatal(err)
			}
			text, _ := doc.Bytes()
			_, err = planner.ReadJob("job.yaml", text, d.config.Engines, planner.Date{})
			if err != nil && strings.Contains(err.Error(), path+": this key is not known here") {
				t.Errorf("%s: %v", path, err)
			}
		}
	}
	// The check above can fail.
	_, err := planner.ReadJob("job.yaml", []byte("job: 1\nrig: {colour: red}\n"), d.config.Engines, planner.Date{})
	if err == nil || !strings.Contains(err.Error(), "rig.colour: this key is not known here") {
		t.Errorf("an unknown key is told otherwise: %v", err)
	}
}

// What a job file must have is asked on the short path, and nothing is needed that
// is not.
func TestWhatIsNeededIsAsked(t *testing.T) {
	d := newDesk(t)
	_, err := planner.ReadJob("job.yaml", []byte("job: 1\nengine: {}\nfluid: {}\nrig: {container: {}, supply_hose: {}, return_hose: {}}\nsite: {}\n"),
		d.config.Engines, planner.Date{})
	if err == nil {
		t.Fatal("an empty job is read")
	}
	needed := 0
	for line := range strings.Lines(err.Error()) {
		path, found := strings.CutSuffix(strings.TrimSpace(line), ": is missing")
		if !found {
			continue
		}
		needed++
		path = path[strings.LastIndex(path, " ")+1:]
		asked := false
		for _, q := range Questions() {
			for _, p := range q.Paths() {
				asked = asked || p == path && q.Short && q.Required()
			}
		}
		if !asked {
			t.Errorf("%s is needed, and is not asked on the short path", path)
		}
	}
	if needed < 12 {
		t.Errorf("only %d keys are needed:\n%v", needed, err)
	}
}

// The short path has at most fifteen questions, whatever the engine.
func TestShortPathIsShort(t *testing.T) {
	d := newDesk(t)
	q := questions()[indexOf(enginePath)]
	for _, o := range q.Options(d.config.Engines) {
		p := script{answers: map[string]string{}}
		for path, text := range theirOwn.answers {
			p.answers[path] = text
		}
		p.answers[enginePath] = o.Word
		if n := len(d.lines(p)); n > 15 || n < 10 {
			t.Errorf("%s: %d questions", o.Word, n)
		}
	}
}

// Questions are sentences, helps are one line, options have words, defaults are
// said: for everybody who has never seen a job file.
func TestQuestionsReadWell(t *testing.T) {
	d := newDesk(t)
	v := look(d.vanDraft(), d.config.Engines)
	for _, q := range Questions() {
		if !strings.HasSuffix(q.Ask, "?") || strings.Contains(q.Ask, "\n") || utf8.RuneCountInString(q.Ask) > 110 {
			t.Errorf("%s asks %q", q.Path, q.Ask)
		}
		if q.Help == "" || strings.Contains(q.Help, "\n") || utf8.RuneCountInString(q.Help) > 140 {
			t.Errorf("%s: help %q", q.Path, q.Help)
		}
		if n := utf8.RuneCountInString(q.Name); n == 0 || n > 26 {
			t.Errorf("%s: name %q", q.Path, q.Name)
		}
		if pageIndex(q.Page) == 0 && q.Page != "vehicle" {
			t.Errorf("%s is on the page %q", q.Path, q.Page)
		}
		if q.Kind == Choice {
			for _, o := range q.Options(d.config.Engines) {
				if o.Word == "" {
					t.Errorf("%s has an option without a word", q.Path)
				}
			}
		}
		for _, fact := range q.Facts(v, d.config.Printer) {
			if strings.Contains(fact, "%!") || strings.Contains(fact, "NaN") {
				t.Errorf("%s: %q", q.Path, fact)
			}
		}
		if q.Usual != nil {
			if text := sample(q); text != "" && !q.Usual.Has(text) {
				t.Errorf("%s: %q is unusual, and it is the van's", q.Path, text)
			}
		}
	}
}

// vanDraft is the van as a draft.
func (d *desk) vanDraft() *strict.Document {
	d.t.Helper()
	doc, err := strict.Parse("van.yaml", d.vanJob().File())
	if err != nil {
		d.t.Fatal(err)
	}
	return doc
}

// Every answer of the van's job file shows as it would be typed, and typed again it
// is the same.
func TestAnswersShowAsTheyAreTyped(t *testing.T) {
	d := newDesk(t)
	doc := d.vanDraft()
	shown := 0
	for _, q := range Questions() {
		text, ok := q.standing(doc, d.config.Engines)
		if !ok {
			continue
		}
		shown++
		edits, err := q.edits(text, d.config.Engines)
		if err != nil {
			t.Errorf("%s: %q: %v", q.Path, text, err)
			continue
		}
		again := doc.Copy()
		for _, e := range edits {
			if err := change(again, e); err != nil {
				t.Errorf("%s: %v", q.Path, err)
			}
		}
		if got, _ := q.standing(again, d.config.Engines); got != text {
			t.Errorf("%s: %q becomes %q", q.Path, text, got)
		}
		a, _ := again.Bytes()
		job, err := planner.ReadJob("again.yaml", a, d.config.Engines, planner.Date{})
		if err != nil || !job.Same(d.vanJob()) {
			t.Errorf("%s: typed again it is another job: %v", q.Path, err)
		}
	}
	if shown < 45 {
		t.Errorf("%d answers are shown", shown)
	}
}

// What is known from the last job of a vehicle is filled in; what is read off anew
// is not. A clean that was walked to its end becomes the last clean.
func TestFilledInFromTheLastJob(t *testing.T) {
	for _, done := range []bool{true, false} {
		d := newDesk(t)
		last := d.vanJob()
		d.config.Last = func(_ context.Context, asset string) (Last, bool, error) {
			return Last{Name: "VAN-07/1", File: last.File(), Done: done}, asset == "VAN-07", nil
		}
		s, err := Begin(d.config)
		if err != nil {
			t.Fatal(err)
		}
		q := questions()[indexOf("asset")]
		if err := s.Give(t.Context(), q, "BOAT-11"); err != nil {
			t.Fatal(err)
		}
		if _, stands := s.Standing(questions()[indexOf("engine.cylinders")]); stands {
			t.Error("an engine is filled in for a vehicle that is not known")
		}
		if err := s.Give(t.Context(), q, "VAN-07"); err != nil {
			t.Fatal(err)
		}
		if said := s.told(); !strings.Contains(said, "Filled in from VAN-07/1") {
			t.Errorf("said %q", said)
		}
		for path, want := range map[string]string{
			"engine.cylinders": "4", "fluid.flash_point": "67 °C", "rig.supply_hose.bore": "8 mm x 1.5 m",
			"site.ambient": "", "odometer": "", "condition.leaks": "", "title": "", "run": "idle 10 min, 1500 rpm 2 min, soak 15 min, idle 15 min",
		} {
			if got, _ := s.Standing(questions()[indexOf(path)]); got != want {
				t.Errorf("%s is %q, want %q", path, got, want)
			}
		}
		want := "2025-03-02" // that job's own last clean
		if done {
			want = "2026-03-14"
		}
		if got, _ := s.Standing(questions()[indexOf("last_clean.on")]); got != want {
			t.Errorf("done %v: last clean %q, want %q", done, got, want)
		}
	}
}

func TestDraftsAreReadStrictly(t *testing.T) {
	for text, says := range map[string]string{
		"":                                     "the file is empty",
		"draft: 2\npage: rig\njob: {job: 1}\n": "f:1:8: draft",
		"draft: 1\npage: cellar\njob: {job: 1}\n":                        "f:2:7: page",
		"draft: 1\npage: rig\n":                                          "job: is missing",
		"draft: 1\npage: rig\njob: x\n":                                  "f:3:6: job",
		"draft: 1\npage: rig\nmore: [cellar]\njob: {}\n":                 `"cellar" is not known`,
		"draft: 1\npage: rig\nnot_known: [a.b]\njob: {}\n":               `"a.b" is not known`,
		"draft: 1\npage: rig\ndone_by: noon\njob: {}\n":                  "not a time of day",
		"draft: 1\npage: rig\naside: [{path: a.b, value: x}]\njob: {}\n": "no question is answered at a.b",
		"draft: 1\npage: rig\njob: {}\nname: x\n":                        "name: this key is not known here",
	} {
		if _, err := ReadDraft("f", []byte(text)); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%q: %v, want %q", text, err, says)
		}
	}
}

func FuzzReadDraft(f *testing.F) {
	f.Add([]byte("draft: 1\npage: rig\nmore: [engine]\nnot_known: [engine.idle_burn]\nat_vehicle: [condition.leaks]\ndone_by: \"17:30\"\njob: {job: 1, asset: VAN-07}\n"))
	f.Add([]byte("draft: 1\npage: rig\njob: {engine: {primer: {kind: hand}}, run: [{soak: 1 min}]}\naside: [{path: engine.primer.flow, value: 90 L/h}]\n"))
	f.Fuzz(func(t *testing.T, text []byte) {
		d, err := ReadDraft("f", text)
		if err != nil {
			return
		}
		kept, err := d.Encode()
		if err != nil {
			t.Fatal(err)
		}
		if _, err := ReadDraft("g", kept); err != nil {
			t.Fatalf("%q is kept as %q, which does not read: %v", text, kept, err)
		}
	})
}
