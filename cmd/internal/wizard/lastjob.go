package wizard

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"daytank/planner/strict"
)

// staleAfterAJob is what a new job does not take over from the last one: what is
// looked at or read off anew each time.
var staleAfterAJob = []string{
	"date", "odometer", "engine_hours", "last_clean", "condition", "site.ambient", "tank_dose", "engine.profile", "title",
}

// fillIn gives a draft with what is known from the last job of its vehicle,
// where nothing else was answered yet. What was answered here stays.
func (s *Session) fillIn(ctx context.Context, d Draft) (Draft, error) {
	asset := textOf(valueAt(d.job, "asset"))
	if s.Last == nil || !onlyVehicle(d.job) || asset == textOf(valueAt(s.kept.job, "asset")) {
		return d, nil
	}
	last, known, err := s.Last(ctx, asset)
	if err != nil || !known {
		return d, err
	}
	doc, err := strict.Parse(last.Name, last.File)
	if err != nil {
		return d, nil // it was read when it was made; a layout may be gone since
	}
	before := lastClean(doc, last.Done)
	for _, path := range staleAfterAJob {
		if err := change(doc, Edit{Path: path, Away: true}); err != nil {
			return d, err
		}
	}
	for _, e := range before {
		if err := change(doc, e); err != nil {
			return d, err
		}
	}
	filled := d.copied()
	if err := filled.job.Merge("", doc); err != nil {
		return d, err
	}
	filled.settled(Question{}, s)
	if slices.ContainsFunc(s.problems(filled.job), func(p strict.Problem) bool { return p.Message != missing }) {
		s.said = fmt.Sprintf("%s is known from %s, but its job no longer reads; nothing is filled in.", asset, last.Name)
		return d, nil
	}
	s.said = fmt.Sprintf("Filled in from %s: engine, fluid, rig and run. Enter keeps what stands; > goes to what is open.", last.Name)
	return filled, nil
}

// lastClean gives when and at which odometer the engine was last cleaned, by the
// job file of that clean; one that was not walked to its end says what it knew of
// the one before.
func lastClean(doc *strict.Document, done bool) []Edit {
	if !done {
		at := valueAt(doc, "last_clean")
		if !at.Present() || at.IsText() || at.IsList() {
			return nil
		}
		text, err := fragment(at)
		if err != nil {
			return nil
		}
		return []Edit{{Path: "last_clean", Text: text, Fragment: true}}
	}
	edits := []Edit{{Path: "last_clean.on", Text: textOf(valueAt(doc, "date"))}}
	if edits[0].Text == "" {
		return nil
	}
	for _, path := range []string{"odometer", "engine_hours"} {
		if text := textOf(valueAt(doc, path)); text != "" {
			edits = append(edits, Edit{Path: "last_clean." + path, Text: text})
		}
	}
	return edits
}

// onlyVehicle tells whether nothing but the vehicle's name was answered.
func onlyVehicle(doc *strict.Document) bool {
	for _, key := range doc.Root().Map().Keys() {
		if key != "job" && key != "asset" && key != "title" {
			return false
		}
	}
	return true
}

// ofKeptEngine says what a kept engine has filled in; empty where none is chosen.
func (s *Session) ofKeptEngine() string {
	name := textOf(valueAt(s.kept.job, "engine.profile"))
	if name == "" {
		return ""
	}
	var filled []string
	others := 0
	for _, q := range questions() {
		switch {
		case q.Path == enginePath || !q.arises(s.view) || !s.fromEngine(q):
		case q.Short:
			filled = append(filled, q.Name+" "+s.Answered(q))
		default:
			others++
		}
	}
	if others > 0 {
		filled = append(filled, fmt.Sprintf("%d more", others))
	}
	return fmt.Sprintf("Filled in from the kept engine %s: %s. Is it another one? < goes back.", name, strings.Join(filled, ", "))
}

// told gives what was filled in, once.
func (s *Session) told() string {
	said := s.said
	s.said = ""
	return said
}
