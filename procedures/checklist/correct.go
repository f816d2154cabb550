package checklist

import (
	"slices"
	"strconv"
	"strings"

	"daytank/procedures"
	"daytank/procedures/record"
	"daytank/safety"
)

// entry is where in a record the value of a step stands.
type entry struct {
	seq  int64 // of its event; 0: none
	unit string
}

// HowToCorrect says how a correction is typed.
const HowToCorrect = "which step by its number, or r for the last reading; what is right; why:  7; 19; read in the sun"

// correct takes back what was entered wrong and says what is right. The text is
// the number of the step, or r for the last reading of the run, the right value,
// and why, with semicolons between them. The old value stays in the record and no
// longer counts.
func (t *turn) correct(text string) error {
	parts := strings.SplitN(text, ";", 3)
	for i := range parts {
		parts[i] = strings.TrimSpace(parts[i])
	}
	if len(parts) < 3 || parts[1] == "" {
		return safetyRefusal("a correction is typed as %s", HowToCorrect)
	}
	which, right, why := parts[0], parts[1], parts[2]
	if safety.TooEasy(why) {
		return safetyRefusal("a correction needs a reason in words")
	}
	if strings.EqualFold(which, "r") {
		return t.correctReading(right, why)
	}
	return t.correctValue(which, right, why)
}

// correctValue corrects the value of a step. A value that stands in the job
// changes the plan, as it did when it was entered.
func (t *turn) correctValue(which, right, why string) error {
	step, ok := t.stepNamed(which)
	if !ok {
		return safetyRefusal("%q is no step of this walk", which)
	}
	e := t.steps[step.ID].entry
	if step.Kind != procedures.Value || e.seq == 0 {
		return safetyRefusal("step %s has no number or words to correct: go back to it with < %s", which, which)
	}
	written := right
	if v := step.Value; !v.Text {
		number, err := numberWithin(right, v.Unit, v.Min, v.Max)
		if err != nil {
			return err
		}
		right, written = number, strings.TrimSpace(number+" "+v.Unit)
	}
	t.do(record.Corrected{Seq: e.seq, Text: right, Reason: why})
	if step.Sets == "" {
		return nil
	}
	return t.replan(step, written, step.Value.Text)
}

func (t *turn) stepNamed(which string) (Step, bool) {
	sitting := t.planned.List.Sitting()
	if n, err := strconv.Atoi(which); err == nil && n >= 1 && n <= len(sitting) {
		return sitting[n-1], true
	}
	i := slices.IndexFunc(sitting, func(s Step) bool { return s.ID == which })
	if i < 0 {
		return Step{}, false
	}
	return sitting[i], true
}

// correctReading corrects the last reading of the run. What it calls out is
// called out; an alarm that the wrong one raised stays until the run is ended.
func (t *turn) correctReading(right, why string) error {
	n := len(t.run.readings) - 1
	if n < 0 {
		return safetyRefusal("there is no reading yet")
	}
	was, plan := t.run.readings[n], t.planned.List.Run
	r, err := plan.ParseReading(right, was.LevelUnit)
	if err != nil {
		return err
	}
	if was.Baseline {
		if err := plan.aboveStop(r); err != nil {
			return err
		}
	}
	t.do(record.Corrected{Seq: t.run.seqs[n], Text: right, Reason: why})
	if t.run.running && t.run.off == "" && !t.paper {
		step, _ := t.active()
		t.alarms(Ask{Step: step}, t.run.readings[n])
	}
	return nil
}

// applyCorrected puts the right value in the place of the one that was entered at
// a place of the record.
func (s *State) applyCorrected(b record.Corrected) {
	if i := slices.Index(s.run.seqs, b.Seq); i >= 0 {
		if r, err := s.planned.List.Run.ParseReading(b.Text, s.run.readings[i].LevelUnit); err == nil {
			s.run.correct(i, r)
		}
		return
	}
	for id, p := range s.steps {
		if p.entry.seq == b.Seq {
			p.value, p.answer = b.Text, strings.TrimSpace(b.Text+" "+p.entry.unit)
			s.steps[id] = p
			return
		}
	}
}

// correct takes level and temperature of a corrected reading; a temperature that
// it does not give stays.
func (r *engineRun) correct(i int, right record.Reading) {
	was := r.readings[i]
	was.Level, was.LevelUnit, was.LevelUL = right.Level, right.LevelUnit, right.LevelUL
	if right.TemperatureMK != nil {
		was.Temperature, was.TemperatureUnit, was.TemperatureMK = right.Temperature, right.TemperatureUnit, right.TemperatureMK
	}
	r.readings = slices.Clone(r.readings)
	r.readings[i] = was
}

// deviate notes what was done otherwise than the procedure says.
func (t *turn) deviate(a Ask, text string) error {
	if safety.TooEasy(text) {
		return safetyRefusal("say in a few words what was done otherwise, and why")
	}
	t.do(record.Deviation{Step: a.Step.ID, Text: text})
	return nil
}

// largestPhoto is what a photo may have at most, in bytes.
const largestPhoto = 32 << 20

// photo keeps a picture with the step at hand.
func (t *turn) photo(a Ask, name string, picture record.Blob) error {
	return t.keep(record.Photo{Step: a.Step.ID, File: name}, picture)
}

// keep keeps a picture, with what it belongs to.
func (t *turn) keep(as record.Photo, picture record.Blob) error {
	switch {
	case len(picture) == 0:
		return safetyRefusal("the picture is empty")
	case len(picture) > largestPhoto:
		return safetyRefusal("the picture has %d MB; at most %d are kept", len(picture)>>20, largestPhoto>>20)
	}
	t.blobs = append(t.blobs, picture)
	as.Blob = picture.Digest()
	t.do(as)
	return nil
}
