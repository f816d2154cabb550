package desk

import (
	"context"
	"crypto/ed25519"
	"crypto/rand"
	"errors"
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/uuid"
	"golang.org/x/crypto/ssh"

	"daytank/cmd/internal/prompt"
	"daytank/cmd/internal/sitting"
	"daytank/planner"
	"daytank/procedures"
	"daytank/procedures/checklist"
	"daytank/procedures/checklist/rehearsal"
	"daytank/procedures/record"
	"daytank/procedures/report"
	"daytank/procedures/review"
	"daytank/procedures/store"
)

// shop is a store with a clock that is set by hand.
type shop struct {
	t    *testing.T
	kept store.Store
	at   time.Time
	mono time.Duration
	jobs int
}

func newShop(t *testing.T) *shop {
	return &shop{t: t, kept: store.OpenMemory(), at: time.Date(2026, 3, 14, 9, 0, 0, 0, time.UTC)}
}

func (s *shop) bench(by string) sitting.Bench {
	s.t.Helper()
	library, err := procedures.Shipped()
	if err != nil {
		s.t.Fatal(err)
	}
	process := uuid.New()
	return sitting.Bench{
		Store: s.kept, Procedures: library, EmergencyNumber: "112", Program: "test",
		NewID: func() (uuid.UUID, error) {
			s.jobs++
			return uuid.NewSHA1(uuid.NameSpaceOID, fmt.Append(nil, s.jobs)), nil
		},
		Now: func() record.Stamp {
			return record.Stamp{At: s.at, MonoMS: s.mono.Milliseconds(), Run: process, By: by}
		},
	}
}

func (s *shop) pass(d time.Duration) { s.at, s.mono = s.at.Add(d), s.mono+d }

// walk walks the van to its review, but for what is otherwise.
func (s *shop) walk(otherwise func(ask checklist.Ask, text string, takes time.Duration) (string, time.Duration), set ...string) record.Summary {
	t := s.t
	t.Helper()
	b := s.bench("Tobi Fenn")
	text, err := os.ReadFile("../../../testdata/jobs/van.yaml")
	if err != nil {
		t.Fatal(err)
	}
	job, err := planner.ReadJobWith("van.yaml", text, set, b.Procedures.Engines(), planner.Date{Year: 2026, Month: 3, Day: 14})
	if err != nil {
		t.Fatal(err)
	}
	planned, err := b.Prepare(job)
	if err != nil {
		t.Fatal(err)
	}
	at, err := b.Begin(t.Context(), planned)
	if err != nil {
		t.Fatal(err)
	}
	for {
		ask, err := at.Ask(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		if ask.Kind == checklist.AskFinished {
			return at.Summary
		}
		answer, takes := rehearsal.Answer(ask, at.State().List())
		if ask.Kind == checklist.AskRun && takes == 0 {
			s.pass(time.Duration(max(1000, ask.Run.WakeMS)) * time.Millisecond)
			continue
		}
		if otherwise != nil {
			answer, takes = otherwise(ask, answer, takes)
		}
		s.pass(takes)
		if err := at.Answer(t.Context(), checklist.Input{Do: checklist.Enter, Text: answer}); err != nil {
			t.Fatalf("%s %s: %q: %v", ask.Kind, ask.Step.ID, answer, err)
		}
	}
}

func (s *shop) sheet(sum record.Summary, signers *review.Signers) report.ReviewSheet {
	s.t.Helper()
	sum, err := s.kept.Get(s.t.Context(), sum.Job)
	if err != nil {
		s.t.Fatal(err)
	}
	o, err := Open(s.t.Context(), s.bench("Ines Holm"), sum, signers, time.UTC)
	if err != nil {
		s.t.Fatal(err)
	}
	return o.Sheet
}

// has tells whether an item says something.
func has(sheet report.ReviewSheet, text string) bool {
	return slices.ContainsFunc(sheet.Items, func(i report.ReviewItem) bool { return strings.Contains(i.Text, text) })
}

// What is worth a look is shown, each by a walk that has it and one that has not.
func TestItems(t *testing.T) {
	type otherwise = func(ask checklist.Ask, text string, takes time.Duration) (string, time.Duration)
	at := func(step, text string) otherwise {
		done := false
		return func(ask checklist.Ask, planned string, takes time.Duration) (string, time.Duration) {
			if ask.Step.ID == step && ask.Kind != checklist.AskAcknowledge && !done {
				done = true
				return text, takes
			}
			return planned, takes
		}
	}
	for _, c := range []struct {
		name string
		odd  otherwise
		set  []string
		says string
	}{
		{"a step too fast", func(ask checklist.Ask, text string, takes time.Duration) (string, time.Duration) {
			if ask.Step.ID == "pump-dead" {
				takes = 5 * time.Second
			}
			return text, takes
		}, nil, "done in 0:05, planned for"},
		{"a group too fast", func(ask checklist.Ask, text string, takes time.Duration) (string, time.Duration) {
			if ask.Step.Group != "" {
				takes = time.Second
			}
			return text, takes
		}, nil, "the steps together with"},
		{"fluid that is missing", at("waste-measured", "700"), nil, "not accounted for"},
		{"fluid that is too much", at("waste-measured", "2600"), nil, "more than was poured in"},
		{"a mending", at("rig-look", "wet"), nil, "wet, at: Look at every joint"},
		{"alone", nil, []string{"site.people=1", "run=[{speed: idle, for: 8 min}]"}, "no second person released"},
		{"a return that is lost", func(ask checklist.Ask, text string, takes time.Duration) (string, time.Duration) {
			if ask.Run.Part == checklist.RunReading && ask.Run.ElapsedMS > 200000 {
				return "1000 28", takes
			}
			return text, takes
		}, nil, "; engine off 0:10 later"},
		{"a skip", func(ask checklist.Ask, text string, takes time.Duration) (string, time.Duration) { return text, takes }, nil, "no photo: Photograph the supply"},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := newShop(t)
			sheet := s.sheet(s.walk(c.odd, c.set...), nil)
			if !has(sheet, c.says) {
				t.Errorf("nothing says %q: %+v", c.says, sheet.Items)
			}
			if !slices.IsSortedFunc(sheet.Items, func(a, b report.ReviewItem) int { return int(b.Weight - a.Weight) }) {
				t.Error("the worst does not come first")
			}
			if c.name == "a skip" {
				return
			}
			if as := newShop(t); has(as.sheet(as.walk(nil), nil), c.says) {
				t.Errorf("a walk as planned says %q", c.says)
			}
		})
	}
}

// played is a face whose lines are typed beforehand.
type played struct {
	typed []string
	said  strings.Builder
}

func (p *played) Page(text string) { p.said.WriteString(text + "\n") }
func (p *played) Say(text string)  { p.said.WriteString(text + "\n") }
func (p *played) Columns() int     { return 100 }
func (p *played) Secret(ctx context.Context, q string) (string, error) {
	return p.Ask(ctx, q)
}

func (p *played) Ask(_ context.Context, question string) (string, error) {
	p.said.WriteString(question)
	if len(p.typed) == 0 {
		return "", prompt.ErrEnd
	}
	text := p.typed[0]
	p.typed = p.typed[1:]
	p.said.WriteString(text + "\n")
	return text, nil
}

func keyAndList(t *testing.T) (ssh.Signer, *review.Signers) {
	t.Helper()
	_, private, err := ed25519.GenerateKey(rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	key, err := ssh.NewSignerFromKey(private)
	if err != nil {
		t.Fatal(err)
	}
	list, err := review.ParseSigners("signers", fmt.Appendf(nil, "\"Ines Holm,Tobi Fenn\" %s", ssh.MarshalAuthorizedKey(key.PublicKey())), time.UTC)
	if err != nil {
		t.Fatal(err)
	}
	return key, &list
}

// at holds a conversation in somebody's name and gives what was said.
func (s *shop) sits(name string, key ssh.Signer, list *review.Signers, first *record.Summary, typed ...string) string {
	s.t.Helper()
	face := &played{typed: typed}
	unlocked := 0
	d := New(Config{
		Bench: s.bench(name), Name: name, Zone: time.UTC, Now: func() time.Time { return s.at }, Signers: list, NoList: "There is no list.",
		Key: func(func(string) (string, error)) (ssh.Signer, error) { unlocked++; return key, nil },
	}, face)
	if err := d.Run(s.t.Context(), first); err != nil && !errors.Is(err, prompt.ErrEnd) {
		s.t.Fatalf("%v\n%s", err, face.said.String())
	}
	if len(face.typed) > 0 {
		s.t.Fatalf("%q was not asked for:\n%s", face.typed, face.said.String())
	}
	if unlocked > 1 {
		s.t.Errorf("the key was unlocked %d times", unlocked)
	}
	return face.said.String()
}

func (s *shop) state(sum record.Summary) record.State {
	s.t.Helper()
	now, err := s.kept.Get(s.t.Context(), sum.Job)
	if err != nil {
		s.t.Fatal(err)
	}
	return now.State
}

// A job goes its whole way over the desk: signed, tested, signed again; and the operator
// cannot sign his own.
func TestSignWorkAndResult(t *testing.T) {
	s := newShop(t)
	key, list := keyAndList(t)
	sum := s.walk(nil)
	s.pass(time.Hour)
	if said := s.sits("Tobi Fenn", key, list, &sum, "s", "q"); !strings.Contains(said, "Not signed: Tobi Fenn did work of this job") {
		t.Errorf("the operator's own:\n%s", said)
	}
	if said := s.sits("Mara Quill", key, list, &sum, "s", "q"); !strings.Contains(said, "no key of Mara Quill may sign today") {
		t.Errorf("not on the list:\n%s", said)
	}
	if said := s.sits("Ines Holm", key, nil, &sum, "s", "q"); !strings.Contains(said, "There is no list.") {
		t.Errorf("without a list:\n%s", said)
	}
	for _, typed := range [][]string{{"s", ""}, {"s", "fit", "", "waits", "y"}, {"s", "fit", "", "waits", ""}} {
		s.sits("Ines Holm", key, list, &sum, append(typed, "q")...)
		if got := s.state(sum); got != record.StateToReview {
			t.Errorf("%q has signed it: %s", typed, got)
		}
	}
	said := s.sits("Ines Holm", key, list, &sum, "s", "yes", "not fit, the brakes leak", "unfit", "fit, clean work", "look at the clip again", "waits", "sign", "t", "", "q")
	if s.state(sum) != record.StateWaiting || !strings.Contains(said, "Signed: work of VAN-07/1, by Ines Holm.") || !strings.Contains(said, "work signed by Ines Holm on 2026-03-14: fit, clean work") {
		t.Fatalf("%s:\n%s", s.state(sum), said)
	}
	if n := strings.Count(said, "What is not fit is not signed"); n != 2 {
		t.Errorf("what is not fit was refused %d times:\n%s", n, said)
	}
	if want := `: "fit, clean work", with the remark "look at the clip again"; what is to come by the procedure waits.`; !strings.Contains(said, want) {
		t.Errorf("it does not say what is about to be signed, %q:\n%s", want, said)
	}
	s.pass(24 * time.Hour)
	if _, err := s.bench("Tobi Fenn").Add(t.Context(), sum.Job, record.TestAdded{Phase: "after", State: "hot", Readings: []record.TestReading{}}); err != nil {
		t.Fatal(err)
	}
	if sheet := s.sheet(sum, list); sheet.Due != record.SignOffResult || !sheet.SignOffs[0].Valid || sheet.SignOffs[0].Later != 1 {
		t.Errorf("%q is due; %+v", sheet.Due, sheet.SignOffs)
	}
	s.sits("Ines Holm", key, list, &sum, "s", "nothing changed by it", "", "sign", "q")
	if got := s.state(sum); got != record.StateSigned {
		t.Fatalf("it is %s", got)
	}
	s.pass(time.Hour)
	second := s.walk(nil, "run=[{speed: idle, for: 12 min}]", "rig.charge=1.9 L")
	sheet := s.sheet(second, list)
	if sheet.Than != "VAN-07/1" || !slices.ContainsFunc(sheet.Differs, func(d string) bool { return strings.HasPrefix(d, "run: 12:00 idle, then 10:00 idle") }) {
		t.Errorf("than %s: %q", sheet.Than, sheet.Differs)
	}
	s.sits("Ines Holm", key, list, &sum, "a", "12; 4; read the wrong line", "q")
	if sheet := s.sheet(sum, list); s.state(sum) != record.StateToReview || sheet.Due != record.SignOffWork || sheet.SignOffs[0].VoidBy == 0 {
		t.Errorf("amended it is %s, %q due: %+v", s.state(sum), sheet.Due, sheet.SignOffs)
	}
}

// Sent back with remarks tied to steps; the operator explains, corrects and hands in
// again, or reopens a step; a job is recalled with who was told.
func TestSendBackAndRecall(t *testing.T) {
	s := newShop(t)
	key, list := keyAndList(t)
	sum := s.walk(nil)
	s.sits("Ines Holm", key, list, &sum, "b", "", "q")
	if s.state(sum) != record.StateToReview {
		t.Fatal("sent back without a word")
	}
	said := s.sits("Ines Holm", key, list, &sum, "b", "leak-look: which joint was it?", "a photo of the lines: please", "", "q")
	if !strings.Contains(said, "about leak-look.") || !strings.Contains(said, "about the whole of it.") {
		t.Errorf("what a remark is about is not said:\n%s", said)
	}
	if s.state(sum) != record.StateSentBack {
		t.Fatalf("it is %s", s.state(sum))
	}
	want := []report.ReviewRemark{{Step: "leak-look", Text: "which joint was it?", By: "Ines Holm", Explained: []string{}}, {Text: "a photo of the lines: please", By: "Ines Holm", Explained: []string{}}}
	if diff := cmp.Diff(want, s.sheet(sum, list).Remarks); diff != "" {
		t.Errorf("(-want +got)\n%s", diff)
	}
	said = s.sits("Tobi Fenn", key, list, &sum, "h", "no", "x leak-look: none was wet", "c waste-measured; 1450; misread it", "x the phone was flat", "h", "q")
	if !strings.Contains(said, `"which joint was it?" is not explained`) || s.state(sum) != record.StateToReview {
		t.Errorf("it is %s:\n%s", s.state(sum), said)
	}
	if got := s.sheet(sum, list); len(got.Remarks[0].Explained) != 1 || len(got.Remarks[1].Explained) != 1 || got.Remarks[0].Explained[0] != "Tobi Fenn: none was wet" || !has(got, "corrected by Tobi Fenn to 1450: misread it") {
		t.Errorf("%+v", got.Remarks)
	}
	s.sits("Ines Holm", key, list, &sum, "b", "look again for leaks", "", "q")
	said = s.sits("Tobi Fenn", key, list, &sum, "o leak-check", "q")
	if !strings.Contains(said, "Reopened: the vehicle is needed") || s.state(sum) != record.StateWalking {
		t.Errorf("it is %s:\n%s", s.state(sum), said)
	}
	other := s.walk(nil)
	s.sits("Ines Holm", key, list, &other, "k", "the harbour master", "weeping at the filter", "q")
	if s.state(other) != record.StateRecalled {
		t.Errorf("it is %s", s.state(other))
	}
}

// The queue has the worst first, filters, pages, and goes on to the next job.
func TestQueue(t *testing.T) {
	s := newShop(t)
	key, list := keyAndList(t)
	s.walk(nil)
	worst := s.walk(nil, "site.people=1", "run=[{speed: idle, for: 8 min}]")
	s.walk(nil, "asset=VAN-08")
	said := s.sits("Ines Holm", key, list, nil, "17", "zz", "1", "n", "u", "f asset=VAN-08", "1", "u", "f by=Nobody", "f state=nowhere", "f", "", "q")
	first := said[:strings.Index(said, "number opens")]
	if !strings.Contains(first, "1  "+report.Name(worst)) {
		t.Errorf("the worst is not the first:\n%s", first)
	}
	for _, text := range []string{`"17" is neither`, `"zz" is neither`, "; of VAN-08", "nothing is here to review", `"nowhere" is no state`} {
		if !strings.Contains(said, text) {
			t.Errorf("nothing says %q", text)
		}
	}
	if strings.Count(said, "waits for the sign-off of the work") != 3 {
		t.Errorf("%d jobs were opened", strings.Count(said, "waits for the sign-off of the work"))
	}
	for range perPage {
		s.walk(nil)
	}
	said = s.sits("Ines Holm", key, list, nil, "m", "m", "q")
	if !strings.Contains(said, fmt.Sprintf("\n %d  VAN-0", perPage+1)) {
		t.Errorf("no second page:\n%s", said)
	}
}
