package wizard

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"daytank/planner"
	"daytank/planner/strict"
)

// Session is one wizard at work: it takes answers into the draft, and knows what
// is to be asked. Both faces work through it and keep no answer of their own.
type Session struct {
	Config
	shelf    shelf
	kept     kept
	view     View
	unusual  string // the answer that was called unusual last, with its question
	forecast *Forecast
	said     string   // what was filled in, to be told once
	written  *Draft   // that a job file was written of
	lifted   []lifted // since the last answer, the last of them at the end
}

// Refusal is an answer that was not taken, and why. Nothing has changed.
type Refusal struct{ Reason string }

// Error gives the reason.
func (r Refusal) Error() string { return r.Reason }

// Begin starts with an empty draft, which has no file until something is
// answered.
func Begin(c Config) (*Session, error) {
	name, err := c.NewName()
	if err != nil {
		return nil, fmt.Errorf("no name for the draft: %w", err)
	}
	s := &Session{Config: c, shelf: shelf{c.Drafts}}
	s.take(kept{Draft: newDraft(), File: filepath.Join(c.Drafts, name+".yaml")})
	return s, nil
}

// resume goes on with a draft.
func resume(c Config, k kept) *Session {
	s := &Session{Config: c, shelf: shelf{c.Drafts}}
	s.take(k)
	return s
}

// take makes a draft the one that is shown.
func (s *Session) take(k kept) {
	s.kept = k
	s.view = look(k.job, s.Engines)
	s.forecast = nil
}

// store keeps a draft, and then, not before, makes it the one that is shown.
func (s *Session) store(d Draft) error {
	k := s.kept
	k.Draft = d
	k, err := s.shelf.write(k)
	if err != nil {
		return err
	}
	s.take(k)
	return nil
}

// answer stores a draft with another answer in it: lifts before it stay as they are.
func (s *Session) answer(d Draft) error {
	if err := s.store(d); err != nil {
		return err
	}
	s.lifted = nil
	return nil
}

// Look gives what the draft says.
func (s *Session) Look() View { return s.view }

// Asset gives what the vehicle is called; empty where nobody said.
func (s *Session) Asset() string { return s.view.Text("asset") }

// Standing gives the answer that stands, as it would be typed.
func (s *Session) Standing(q Question) (string, bool) {
	if text, ok := q.standing(s.kept.job, s.Engines); ok {
		return text, true
	}
	return q.standing(s.view.doc, s.Engines)
}

// fromEngine tells whether the answer that stands is that of a kept engine.
func (s *Session) fromEngine(q Question) bool {
	_, own := q.standing(s.kept.job, s.Engines)
	_, any := q.standing(s.view.doc, s.Engines)
	return any && !own
}

// Answered says how a question stands: its answer, "not known", "will check at
// the vehicle", or empty where it is open.
func (s *Session) Answered(q Question) string {
	if text, ok := s.Standing(q); ok {
		return text
	}
	switch {
	case slices.Contains(s.kept.AtVehicle, q.Path):
		return "will check at the vehicle"
	case slices.Contains(s.kept.NotKnown, q.Path):
		return "not known"
	}
	return ""
}

// asked tells whether a question is one of those gone through: on the short path
// those that a kept engine does not answer, of a page asked in full all, and
// what the job lacks.
func (s *Session) asked(q Question) bool {
	if !q.arises(s.view) {
		return false
	}
	_, stands := s.Standing(q)
	return s.InFull(q.Page) || q.Short && !s.fromEngine(q) || q.Required() && !stands
}

// InFull tells whether all questions of a page are asked.
func (s *Session) InFull(page string) bool { return slices.Contains(s.kept.More, page) }

// Asked gives the questions gone through, of one page or, without one, of all.
func (s *Session) Asked(page string) []Question {
	var all []Question
	for _, q := range questions() {
		if (page == "" || q.Page == page) && s.asked(q) {
			all = append(all, q)
		}
	}
	return all
}

// Open gives those of them that have no answer yet.
func (s *Session) Open() []Question {
	return slices.DeleteFunc(s.Asked(""), func(q Question) bool { return s.Answered(q) != "" })
}

// Next gives the first question after one, and false where the plan comes next.
// The empty path is before all of them.
func (s *Session) Next(path string) (Question, bool) {
	for _, q := range questions()[indexOf(path)+1:] {
		if s.asked(q) {
			return q, true
		}
	}
	return Question{}, false
}

// Before gives the last question before one; before the plan that is the last of
// all.
func (s *Session) Before(path string) (Question, bool) {
	from := indexOf(path)
	if path == PlanPage {
		from = len(questions())
	}
	for _, q := range slices.Backward(questions()[:max(0, from)]) {
		if s.asked(q) {
			return q, true
		}
	}
	return Question{}, false
}

// FirstOpen gives where to go on: at the first question without an answer; where
// there is none, the plan comes next.
func (s *Session) FirstOpen() (Question, bool) {
	open := s.Open()
	if len(open) == 0 {
		return Question{}, false
	}
	return open[0], true
}

// Give takes an answer: it is written into the draft, read as a job file, and
// stored. A [Refusal] says why it was not taken.
func (s *Session) Give(ctx context.Context, q Question, text string) error {
	next, err := s.judge(q, text)
	if err != nil {
		return err
	}
	if q.Path == "asset" {
		if next, err = s.fillIn(ctx, next); err != nil {
			return err
		}
	}
	if err := s.answer(next); err != nil {
		return err
	}
	if q.Path == enginePath {
		s.said = s.ofKeptEngine()
	}
	return nil
}

// judge gives the draft with an answer in it, or a Refusal. A figure that is
// unusual is refused once.
func (s *Session) judge(q Question, text string) (Draft, error) {
	text = q.spelled(text)
	if text == "" {
		return Draft{}, Refusal{"nothing is given"}
	}
	edits, err := q.edits(text, s.Engines)
	if err != nil {
		return Draft{}, Refusal{err.Error()}
	}
	next := s.kept.Draft.copied()
	for _, e := range edits {
		if err := change(next.job, e); err != nil {
			return Draft{}, Refusal{err.Error()}
		}
	}
	next.settled(q, s)
	if reason := s.wrong(q, next); reason != "" {
		return Draft{}, Refusal{reason}
	}
	if key := q.Path + "=" + text; q.Usual != nil && !q.Usual.Has(text) && s.unusual != key {
		s.unusual = key
		return Draft{}, Refusal{fmt.Sprintf("%s is unusual: %s is usual. Give it again if it is right", text, q.Usual.Show(s.Printer))}
	}
	return next, nil
}

// settled brings a draft in line with an answer that was just given or taken
// back: answers to questions that no longer arise are put aside, and those that
// arise again come back.
func (d *Draft) settled(q Question, s *Session) {
	unlisted := func(path string) bool { return path == q.Path }
	d.NotKnown, d.AtVehicle = slices.DeleteFunc(d.NotKnown, unlisted), slices.DeleteFunc(d.AtVehicle, unlisted)
	// One answer can make another question arise, or cease, that others hang on.
	for range len(questions()) {
		before := len(d.Aside)
		v := look(d.job, s.Engines)
		moved := false
		for _, each := range questions() {
			if each.When != nil && each.Path != q.Path {
				moved = d.place(each, each.arises(v)) || moved
			}
		}
		if !moved && before == len(d.Aside) {
			return
		}
	}
}

// place puts the answer of a question where it belongs, and tells whether that
// was a change.
func (d *Draft) place(q Question, arises bool) bool {
	moved := false
	for _, path := range q.Paths() {
		at := valueAt(d.job, path)
		value, aside := d.Aside[path]
		switch {
		case arises && aside:
			delete(d.Aside, path)
			if !at.Present() {
				moved = change(d.job, Edit{Path: path, Text: value, Fragment: true}) == nil || moved
			}
		case !arises && at.Present():
			if text, err := fragment(at); err == nil {
				d.Aside[path] = text
				moved = change(d.job, Edit{Path: path, Away: true}) == nil || moved
			}
		}
	}
	return moved
}

// fragment gives what stands at a place as YAML.
func fragment(v strict.Value) (string, error) {
	text, err := v.Document().Bytes()
	return string(text), err
}

// missing is what the reader says of a key that has to be there and is not.
const missing = "is missing"

// wrong reads the job file of a draft and gives what is wrong with it because of
// an answer; empty where nothing is. What has not been answered yet is not wrong.
func (s *Session) wrong(q Question, next Draft) string {
	doc := next.job.Copy()
	if beside, ok := q.Beside[textOf(valueAt(doc, q.Path))]; ok {
		path, value, _ := strings.Cut(beside, "=")
		if !valueAt(doc, path).Present() {
			_ = doc.Set(path, value) // where it does not fit, the reader says so
		}
	}
	before := s.problems(s.kept.job)
	var reasons []string
	for _, p := range s.problems(doc) {
		if p.Message == missing || slices.ContainsFunc(before, func(b strict.Problem) bool { return b.Path == p.Path && b.Message == p.Message }) {
			continue
		}
		reasons = append(reasons, q.about(p)+p.Message)
	}
	return strings.Join(reasons, "; ")
}

// about names the question that a problem is about, where it is another one.
func (q Question) about(p strict.Problem) string {
	for _, path := range q.Paths() {
		if p.Path == path || strings.HasPrefix(p.Path, path+".") {
			return ""
		}
	}
	for _, other := range questions() {
		if slices.Contains(other.Paths(), p.Path) {
			return other.Name + ": "
		}
	}
	return p.Path + ": "
}

// problems gives everything that is wrong with a job file.
func (s *Session) problems(doc *strict.Document) strict.Problems {
	_, err := s.read(doc)
	var found strict.Problems
	if errors.As(err, &found) || err == nil {
		return found
	}
	return strict.Problems{{Message: err.Error()}}
}

func (s *Session) read(doc *strict.Document) (planner.Job, error) {
	text, err := doc.Bytes()
	if err != nil {
		return planner.Job{}, err
	}
	return planner.ReadJob("draft", text, s.Engines, s.today())
}

// NotKnown takes "not known" for an answer: the key is left out. AtVehicle is the
// same with the promise to look.
func (s *Session) NotKnown(q Question) error {
	if !q.NotKnown {
		return Refusal{"this one is needed: without it nothing can be planned"}
	}
	return s.leaveOut(q, func(d *Draft) { d.NotKnown = append(d.NotKnown, q.Path) })
}

// AtVehicle takes "will check at the vehicle" for an answer.
func (s *Session) AtVehicle(q Question) error {
	if !q.AtVehicle {
		return Refusal{"this one has to be known for the plan, not only at the vehicle"}
	}
	return s.leaveOut(q, func(d *Draft) { d.AtVehicle = append(d.AtVehicle, q.Path) })
}

func (s *Session) leaveOut(q Question, note func(*Draft)) error {
	next := s.kept.Draft.copied()
	for _, path := range q.Paths() {
		if err := change(next.job, Edit{Path: path, Away: true}); err != nil {
			return err
		}
	}
	if q.Path == "rig.return_cooler.material" {
		if err := change(next.job, Edit{Path: "rig.return_cooler", Away: true}); err != nil {
			return err
		}
	}
	next.settled(q, s)
	note(&next)
	return s.answer(next)
}

// Skip is what Enter alone means: what stands is kept; where nothing does, it is
// not known or will be checked at the vehicle, if the question takes that.
func (s *Session) Skip(q Question) error {
	switch {
	case s.Answered(q) != "":
		return nil
	case q.NotKnown:
		return s.NotKnown(q)
	case q.AtVehicle:
		return s.AtVehicle(q)
	}
	return Refusal{"this one is needed: without it nothing can be planned"}
}

// More asks a page in full.
func (s *Session) More(page string) error {
	if s.InFull(page) || page == PlanPage {
		return nil
	}
	next := s.kept.Draft.copied()
	next.More = append(next.More, page)
	return s.store(next)
}

// Turn remembers the page that is looked at. A draft without an answer has no
// file yet, and gets none of it.
func (s *Session) Turn(page string) error {
	if s.kept.Page == page {
		return nil
	}
	next := s.kept.Draft.copied()
	next.Page = page
	if !s.Stored() {
		s.take(kept{Draft: next, File: s.kept.File})
		return nil
	}
	return s.store(next)
}

// Stored tells whether the draft has a file.
func (s *Session) Stored() bool { return s.kept.digest != [32]byte{} }
