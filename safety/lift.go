package safety

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"daytank/planner"
	"daytank/planner/quantity"
	"daytank/planner/strict"
)

// proposal is a change of the job that may lift a finding.
type proposal struct {
	say quantity.Phrase
	set []string // PATH=VALUE
}

func propose(text quantity.Phrase, set ...string) proposal { return proposal{text, set} }

// lifted tries the proposals by planning again: each alone, then the first two
// together, the first three and so on. It takes the first after which holds no
// longer finds anything and no stop has come up that was not there before.
// Where none does, the finding keeps the words it has.
func (s subject) lifted(f Finding, holds func(subject) bool, proposals ...proposal) Finding {
	if s.trying {
		return f
	}
	proposals = slices.DeleteFunc(slices.Clone(proposals), func(p proposal) bool { return len(p.set) == 0 })
	tries := slices.Clone(proposals)
	for n := 2; n <= len(proposals); n++ {
		if p := together(proposals[:n]...); !slices.Equal(p.set, proposals[n-1].set) {
			tries = append(tries, p)
		}
	}
	for _, p := range tries {
		if s.lifts(p, holds) {
			f.Lift, f.Set = p.say, p.set
			return f
		}
	}
	return f
}

// liftedOrShorter is lifted, and where no proposal is enough the longest run with
// which the rule no longer holds.
func (s subject) liftedOrShorter(f Finding, holds func(subject) bool, proposals ...proposal) Finding {
	f = s.lifted(f, holds, proposals...)
	if s.trying || len(f.Set) > 0 {
		return f
	}
	set, ok := s.job.LongestRun(func(j planner.Job, p planner.Plan) bool {
		return !holds(subject{job: j, plan: p, rules: s.rules, trying: true})
	})
	if !ok || len(set) == 0 {
		return f
	}
	return s.lifted(f, holds, propose(say("a shorter run: %v", runOf(set)), set...))
}

// runOf says the changes of a run in words: stage 4 for 12.5 min.
func runOf(set []string) string {
	var parts []string
	for _, change := range set {
		path, value, _ := strings.Cut(change, "=")
		n, _ := strconv.Atoi(strings.Split(path, ".")[1])
		parts = append(parts, fmt.Sprintf("stage %d for %s", n+1, value))
	}
	return strings.Join(parts, ", ")
}

// soakBetween proposes a soak before the last running stage, until the fluid has
// cooled.
func (s subject) soakBetween() []proposal {
	last := s.lastRunning()
	until := max(35, math.Ceil(s.job.Site.Ambient.Celsius())+5)
	if last < 1 || s.job.Run[last-1].Soak || until > 60 {
		return nil
	}
	var stages []string
	for i, stage := range s.job.Run {
		if i == last {
			stages = append(stages, fmt.Sprintf("{soak_until: %g °C}", until))
		}
		stages = append(stages, stageText(stage))
	}
	return []proposal{propose(say("a soak until %v before the last stage", quantity.Celsius(until)), "run=["+strings.Join(stages, ", ")+"]")}
}

// stageText writes a stage as in a job file.
func stageText(s planner.Stage) string {
	minutes := strconv.FormatFloat(s.For.Minutes(), 'f', -1, 64) + " min"
	switch {
	case s.SoakUntil != nil:
		return fmt.Sprintf("{soak_until: %s °C}", strconv.FormatFloat(s.SoakUntil.Celsius(), 'f', -1, 64))
	case s.Soak:
		return "{soak: " + minutes + "}"
	case s.Idle:
		return "{speed: idle, for: " + minutes + "}"
	}
	return fmt.Sprintf("{speed: %s rpm, for: %s}", strconv.FormatFloat(s.Speed.RPM(), 'f', -1, 64), minutes)
}

// together joins proposals; one that sets what a later one sets too gives way
// to it.
func together(proposals ...proposal) proposal {
	var all proposal
	for i, p := range proposals {
		if slices.ContainsFunc(proposals[i+1:], p.overlaps) {
			continue
		}
		all.say = joined(all.say, p.say)
		all.set = append(all.set, p.set...)
	}
	return all
}

func (p proposal) overlaps(q proposal) bool {
	return slices.ContainsFunc(p.set, func(a string) bool {
		return slices.ContainsFunc(q.set, func(b string) bool { return pathOf(a) == pathOf(b) })
	})
}

func pathOf(change string) string {
	path, _, _ := strings.Cut(change, "=")
	return path
}

func joined(a, b quantity.Phrase) quantity.Phrase {
	if a.Format == "" {
		return b
	}
	args := append(append([]any(nil), a.Args...), b.Args...)
	return quantity.Phrase{Format: a.Format + ", and " + b.Format, Args: args}
}

// lifts tells whether the rule no longer holds once the changes are made, and
// no other stop comes of them.
func (s subject) lifts(p proposal, holds func(subject) bool) bool {
	job, err := Apply(s.job, p.set)
	if err != nil {
		return false
	}
	changed := subject{job: job, plan: planner.Compute(job), rules: s.rules, trying: true}
	if holds(changed) {
		return false
	}
	before := s.stops()
	return !slices.ContainsFunc(changed.stops(), func(stop string) bool { return !slices.Contains(before, stop) })
}

// stops gives what stops the job, each by its rule and its sentence without
// the numbers.
func (s subject) stops() []string {
	s.trying = true
	var all []string
	for _, r := range s.rules {
		for _, f := range r.find(s) {
			if f.Severity == Stop {
				all = append(all, f.Rule+": "+f.Message.Format)
			}
		}
	}
	return all
}

// pouring proposes the whole packs that hold a volume, and with them a
// container with room for it where the present one has none.
func (s subject) pouring(least quantity.Volume) proposal {
	pack := s.job.Fluid.Pack
	charge := quantity.Volume(math.Ceil(float64(least/pack)-1e-9)) * pack
	p := propose(say("pour in %v", charge), "rig.charge="+millilitres(charge))
	room := s.job.ContainerNeeded(s.plan) * charge / s.plan.Fluid.Charge
	if room <= s.job.Rig.Container.Capacity {
		return p
	}
	return together(p, containerOf(room))
}

// pouringMore proposes whole packs that hold the charge and so much more.
func (s subject) pouringMore(more quantity.Volume) proposal {
	return s.pouring(s.plan.Fluid.Charge + more)
}

// containerOf proposes a container of at least a volume, to the half litre.
func containerOf(v quantity.Volume) proposal {
	halves := math.Ceil(v.Litres()*2) / 2
	return propose(say("a container of %v or more", quantity.Litres(halves)), fmt.Sprintf("rig.container.capacity=%g L", halves))
}

// millilitres writes a volume as in a job file, to 0.1 mL and rounded down, so
// that whole packs are not taken for one more.
func millilitres(v quantity.Volume) string {
	tenths := math.Floor(v.Millilitres()*10 + 1e-6)
	return strconv.FormatFloat(tenths/10, 'f', -1, 64) + " mL"
}

// Apply gives the job with changes PATH=VALUE made. Changes to one section of
// the job file are made together, since some are only right side by side: a
// feed and its pump. The error names what cannot be made.
func Apply(job planner.Job, set []string) (planner.Job, error) {
	var sections []string
	changes := map[string][]string{}
	for _, change := range set {
		if !strings.Contains(change, "=") {
			return planner.Job{}, fmt.Errorf("change %q is not written PATH=VALUE, such as rig.charge=2 L", change)
		}
		section, _, _ := strings.Cut(pathOf(change), ".")
		if !slices.Contains(sections, section) {
			sections = append(sections, section)
		}
		changes[section] = append(changes[section], change)
	}
	for _, section := range sections {
		var err error
		if job, err = applySection(job, section, changes[section]); err != nil {
			return planner.Job{}, err
		}
	}
	return job, nil
}

// applySection makes the changes of one section: several are written into a
// copy of it, which then takes its place.
func applySection(job planner.Job, section string, changes []string) (planner.Job, error) {
	if len(changes) == 1 {
		path, value, _ := strings.Cut(changes[0], "=")
		return job.With(path, value)
	}
	doc, err := strict.Parse("job", job.File())
	if err != nil {
		return planner.Job{}, err
	}
	for _, change := range changes {
		path, value, _ := strings.Cut(change, "=")
		if err := doc.Set(path, value); err != nil {
			return planner.Job{}, err
		}
	}
	v := doc.Root().Map().Optional(section)
	if !v.Present() {
		return job.With(section, "")
	}
	text, err := v.Document().Bytes()
	if err != nil {
		return planner.Job{}, err
	}
	return job.With(section, string(text))
}
