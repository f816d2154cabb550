package procedures

import (
	"embed"
	"fmt"
	"maps"
	"path"
	"slices"
	"strings"
	"sync"

	"daytank/planner/engine"
	"daytank/planner/strict"
	"daytank/safety"
)

//go:embed library
var data embed.FS

// Library is what procedures are known.
type Library struct {
	engines    *engine.Library
	steps      map[string]Step // shared ones
	phaseOf    map[string]string
	branches   map[string]Branch // shared ones
	procedures map[string]Procedure
}

var shipped = sync.OnceValues(func() (*Library, error) {
	engines, err := engine.Shipped()
	if err != nil {
		return nil, err
	}
	l := &Library{engines: engines, steps: map[string]Step{}, phaseOf: map[string]string{}, branches: map[string]Branch{}, procedures: map[string]Procedure{}}
	// Shared steps first: procedures take them.
	if err := strict.EachFile(data, "library/steps/*.yaml", l.addSteps); err != nil {
		return nil, err
	}
	if err := strict.EachFile(data, "library/branches/*.yaml", l.addBranches); err != nil {
		return nil, err
	}
	if err := strict.EachFile(data, "library/*.yaml", l.addShipped); err != nil {
		return nil, err
	}
	return l, nil
})

// Shipped gives a library of the shipped procedures, to which the user's own
// may be added.
func Shipped() (*Library, error) {
	s, err := shipped()
	if err != nil {
		return nil, fmt.Errorf("a shipped procedure does not read: %w", err)
	}
	own := *s
	if own.engines, err = engine.Shipped(); err != nil {
		return nil, err
	}
	own.procedures = maps.Clone(s.procedures)
	return &own, nil
}

// Engines gives the engines and layouts that the procedures are held against,
// to which the user's own may be added before any procedure is.
func (l *Library) Engines() *engine.Library { return l.engines }

// Add reads a procedure of the user's own and adds it; one of the same id is
// replaced. The error is [strict.Problems].
func (l *Library) Add(file string, text []byte) error { return l.add(file, text, true) }

func (l *Library) addShipped(file string, text []byte) error { return l.add(file, text, false) }

func (l *Library) add(file string, text []byte, own bool) error {
	p, err := l.Read(file, text)
	if err != nil {
		return err
	}
	p.Own = own
	l.procedures[p.ID] = p
	return nil
}

// ByID gives a procedure.
func (l *Library) ByID(id string) (Procedure, bool) {
	p, ok := l.procedures[id]
	return p, ok
}

// All gives all procedures by id.
func (l *Library) All() []Procedure {
	var all []Procedure
	for _, p := range l.procedures {
		all = append(all, p)
	}
	slices.SortFunc(all, func(a, b Procedure) int { return strings.Compare(a.ID, b.ID) })
	return all
}

// For gives the procedure of a layout: the user's own before a shipped one.
func (l *Library) For(layout string) (Procedure, bool) {
	var found Procedure
	for _, p := range l.All() {
		if p.Layout(layout) && (found.ID == "" || p.Own) {
			found = p
		}
	}
	return found, found.ID != ""
}

func baseName(file string) string {
	return strings.TrimSuffix(path.Base(strings.ReplaceAll(file, `\`, "/")), path.Ext(file))
}

// addSteps reads a file of shared steps.
func (l *Library) addSteps(file string, text []byte) error {
	doc, err := strict.Parse(file, text)
	if err != nil {
		return err
	}
	m := doc.Root().Map()
	m.Required("steps").Integer(1, 1)
	phase := m.Required("phase")
	if id := phase.OneOf(Phases...); id != baseName(file) {
		phase.Problem("the file is called after its phase, %q", baseName(file))
	}
	for _, item := range m.Required("list").List() {
		s := readStep(item.Map())
		if _, twice := l.steps[s.ID]; twice {
			item.Problem("step %q is there twice", s.ID)
		}
		l.steps[s.ID] = s
		l.phaseOf[s.ID] = phase.Text()
	}
	m.Close()
	return doc.Err()
}

// addBranches reads a file of shared branches.
func (l *Library) addBranches(file string, text []byte) error {
	doc, err := strict.Parse(file, text)
	if err != nil {
		return err
	}
	r := &reader{library: l, places: map[string]strict.Value{}}
	m := doc.Root().Map()
	m.Required("branches").Integer(1, 1)
	for _, item := range m.Required("list").List() {
		b := r.readBranch(item)
		if _, twice := l.branches[b.ID]; twice {
			item.Problem("branch %q is there twice", b.ID)
		}
		l.branches[b.ID] = b
	}
	m.Close()
	return doc.Err()
}

// Read reads a procedure file strictly and holds it against what safety
// demands. The error is [strict.Problems].
func (l *Library) Read(file string, text []byte) (Procedure, error) {
	doc, err := strict.Parse(file, text)
	if err != nil {
		return Procedure{}, err
	}
	r := &reader{library: l, places: map[string]strict.Value{}}
	m := doc.Root().Map()
	m.Required("procedure").Integer(1, 1)
	id := m.Required("id")
	p := Procedure{ID: readID(id), Title: readText(m.Required("title"), longestSay)}
	if p.ID != "" && p.ID != baseName(file) {
		id.Problem("%q is not the name of the file, %q", p.ID, baseName(file))
	}
	layouts := m.Required("layouts")
	for _, v := range layouts.List() {
		if _, known := l.engines.Layout(v.Text()); !known {
			v.Problem("layout %q is not known", v.Text())
		}
		p.Layouts = append(p.Layouts, v.Text())
	}
	for _, v := range m.Required("cautions").List() {
		p.Cautions = append(p.Cautions, readText(v, 2*longestSay))
	}
	for _, v := range m.Required("phases").List() {
		p.Phases = append(p.Phases, r.readPhase(v.Map()))
	}
	for _, v := range m.Optional("branches").List() {
		p.Branches = append(p.Branches, r.readBranch(v))
	}
	m.Close()
	r.lint(p, layouts)
	return p, doc.Err()
}

// reader reads one procedure and remembers where each step stands in it.
type reader struct {
	library *Library
	places  map[string]strict.Value
}

func (r *reader) readPhase(m *strict.Mapping) Phase {
	p := Phase{ID: m.Required("phase").OneOf(Phases...), Title: readText(m.Required("title"), longestSay)}
	p.Steps = r.readSteps(m.Required("steps"))
	m.Close()
	return p
}

func (r *reader) readBranch(v strict.Value) Branch {
	m := v.Map()
	if same := m.Optional("same_as"); same.Present() {
		shared, known := r.library.branches[same.Text()]
		if !known {
			same.Problem("there is no shared branch %q", same.Text())
		}
		m.Close()
		for _, s := range shared.Steps {
			if _, twice := r.places[s.ID]; twice {
				v.Problem("step %q is there twice", s.ID)
			}
			r.places[s.ID] = v
		}
		return shared
	}
	b := Branch{ID: readID(m.Required("id")), Title: readText(m.Required("title"), longestSay), Limit: m.Required("limit").Integer(1, 9)}
	b.Steps = r.readSteps(m.Required("steps"))
	m.Close()
	return b
}

func (r *reader) readSteps(v strict.Value) []Step {
	var steps []Step
	for _, item := range v.List() {
		m := item.Map()
		var s Step
		if same := m.Optional("same_as"); same.Present() {
			shared, known := r.library.steps[same.Text()]
			if !known {
				same.Problem("there is no shared step %q", same.Text())
			}
			s = shared
			m.Close()
		} else {
			s = readStep(m)
		}
		if s.ID == "" {
			continue
		}
		if _, twice := r.places[s.ID]; twice {
			item.Problem("step %q is there twice", s.ID)
		}
		r.places[s.ID] = item
		steps = append(steps, s)
	}
	return steps
}

// lint notes what is wrong between steps, and what safety lacks.
func (r *reader) lint(p Procedure, layouts strict.Value) {
	r.lintPhases(p, layouts)
	branches := map[string]bool{}
	for _, b := range p.Branches {
		branches[b.ID] = true
	}
	for _, s := range p.Steps() {
		r.lintStep(s, branches)
	}
	for _, id := range p.Layouts {
		layout, known := r.library.engines.Layout(id)
		if !known {
			continue
		}
		for _, lack := range safety.Weaknesses(layout, p.controlled(layout)) {
			layouts.Problem("for %s: %s", id, lack)
		}
	}
}

func (r *reader) lintPhases(p Procedure, layouts strict.Value) {
	last := -1
	for _, phase := range p.Phases {
		i := slices.Index(Phases, phase.ID)
		if i >= 0 && i <= last {
			layouts.Problem("phase %s stands out of its order", phase.ID)
		}
		last = max(last, i)
	}
	if len(p.Cautions) == 0 {
		layouts.Problem("a procedure says its cautions")
	}
}

func (r *reader) lintStep(s Step, branches map[string]bool) {
	at := r.places[s.ID]
	if s.Until != "" {
		if _, there := r.places[s.Until]; !there {
			at.Problem("step %s: until %q is not a step of this procedure", s.ID, s.Until)
		}
	}
	if s.Hazard != "" {
		if _, known := safety.HazardByID(s.Hazard); !known {
			at.Problem("step %s: hazard %q is not known", s.ID, s.Hazard)
		}
	}
	if s.Demand != nil && s.Demand.Number != nil && s.Demand.Number.Equals != "" {
		if _, there := r.places[s.Demand.Number.Equals]; !there {
			at.Problem("step %s: equals_step %q is not a step of this procedure", s.ID, s.Demand.Number.Equals)
		}
	}
	for _, o := range s.Options {
		branch, mends := strings.CutPrefix(o.Goes, "mend:")
		switch {
		case mends && !branches[branch]:
			at.Problem("step %s: answer %s goes to branch %q, which is not there", s.ID, o.Key, branch)
		case !mends && !slices.Contains([]string{"on", "again", "stop"}, o.Goes):
			at.Problem("step %s: answer %s goes %q, not on, again, stop or mend:BRANCH", s.ID, o.Key, o.Goes)
		}
		if s.Sets != "" && o.Goes == "on" && o.Value == "" {
			at.Problem("step %s: answer %s does not say what it writes to %s", s.ID, o.Key, s.Sets)
		}
	}
}

// controlled gives what safety looks at, for the steps that a layout can have.
func (p Procedure) controlled(l engine.Layout) []safety.Controlled {
	var all []safety.Controlled
	for _, s := range p.Steps() {
		if !s.mayApply(l) {
			continue
		}
		c := safety.Controlled{Step: s.ID, Control: s.Control, Hazard: s.Hazard, Confirms: s.Kind == Confirm, Hold: s.Hold != nil}
		if s.Demand != nil {
			c.Demand = s.Demand.Demand
		}
		all = append(all, c)
	}
	return all
}

// mayApply tells whether the step's condition leaves the layout in.
func (s Step) mayApply(l engine.Layout) bool {
	of := LayoutFacts(l)
	for _, c := range s.Applies {
		if value, fixed := of[c.Fact]; fixed && !slices.Contains(c.Values, value) {
			return false
		}
	}
	return true
}
