package wizard

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"strings"
	"time"

	"daytank/safety"
)

// action is something to do at the plan.
type action struct {
	key  string
	say  string
	lift *safety.Finding
}

// Keys of the plan.
const (
	keySave  = "s"
	keyWalk  = "w"
	keyFile  = "f"
	keyClock = "t"
	keyBack  = "z"
)

// actions gives what can be done with the plan as it is: a number for each stop
// that something lifts, then what the plan is good for.
func (s *Session) actions() []action {
	f := s.Forecast()
	var all []action
	if f.Made {
		for _, stop := range f.Stops() {
			if len(stop.Set) > 0 {
				all = append(all, action{
					key: fmt.Sprint(len(all) + 1), lift: &stop,
					say: fmt.Sprintf("lift %s: %s", stop.Rule, s.Printer.Phrase(stop.Lift)),
				})
			}
		}
	}
	if len(s.lifted) > 0 {
		all = append(all, action{key: keyBack, say: "take the last lift back: " + s.Printer.Phrase(s.lifted[len(s.lifted)-1].lift)})
	}
	if f.Ready() && f.Known {
		all = append(all, action{key: keySave, say: "save it as a job, to be walked later"})
		if s.CanWalk {
			all = append(all, action{key: keyWalk, say: "save it and walk it now"})
		}
	}
	if f.Made {
		all = append(all, action{key: keyFile, say: "write the job file"},
			action{key: keyClock, say: "say when it has to be done, such as 17:30, and see when to start"})
	}
	return all
}

// takenBack takes the last lift back, and says so.
func (s *Session) takenBack() (string, error) {
	lift, err := s.Unlift()
	return "Taken back: " + s.Printer.Phrase(lift) + ". Planned again.", err
}

// lines gives the plan with what it takes and what can be done, as it is shown.
func (s *Session) planLines(width int) []string {
	f := s.Forecast()
	if !f.Made {
		lines := folded("There is no plan yet.", "", width)
		for _, q := range f.Open {
			lines = append(lines, folded("- "+q.Name+": "+q.Ask, "  ", width)...)
		}
		for _, p := range f.Problems {
			lines = append(lines, folded("- "+p, "  ", width)...)
		}
		return append(lines, "", "> goes to what is open.")
	}
	var b strings.Builder
	f.Write(&b, width, s.Printer)
	lines := refold(strings.Split(strings.TrimRight(b.String(), "\n"), "\n"), width)
	if !f.Known {
		lines = append(lines, folded("There is no procedure yet for the layout "+f.Job.Engine.Layout.ID+": it can be planned and written as a job file, not walked.", "", width)...)
	}
	for _, stop := range f.Stops() {
		if len(stop.Set) == 0 {
			lines = append(lines, folded("STOP "+stop.Rule+": no single answer lifts this; "+s.Printer.Phrase(stop.Lift)+".", "", width)...)
		}
	}
	if times := s.times(); times != "" {
		lines = append(append(lines, ""), folded(times, "", width)...)
	}
	return lines
}

// refold breaks the lines that are wider than a screen, keeping how far in they
// begin.
func refold(lines []string, width int) []string {
	var all []string
	for _, l := range lines {
		if len([]rune(l)) <= width {
			all = append(all, l)
			continue
		}
		inside := strings.TrimLeft(l, " ")
		all = append(all, folded(inside, strings.Repeat(" ", min(len(l)-len(inside), width/3)), width)...)
	}
	return all
}

// times says how long the work takes, and when to start for a wished end.
func (s *Session) times() string {
	f := s.Forecast()
	if !f.Made || !f.Known {
		return ""
	}
	work := time.Duration(f.Planned.List.PlannedMS()) * time.Millisecond
	text := "The work takes about " + hours(work) + "."
	end, err := time.Parse("15:04", s.kept.DoneBy)
	if s.kept.DoneBy == "" || err != nil {
		return text
	}
	start := end.Add(-work)
	text += fmt.Sprintf(" To be done by %s, start by %s", s.kept.DoneBy, start.Format("15:04"))
	now := s.Now()
	clock := time.Date(0, 1, 1, now.Hour(), now.Minute(), 0, 0, time.UTC)
	dayBefore := start.Day() != end.Day()
	if dayBefore {
		text += " on the day before"
	}
	if f.Job.Date == s.today() && (dayBefore || start.Before(clock)) {
		text += fmt.Sprintf(". That is past: it is %s now", clock.Format("15:04"))
	}
	return text + "."
}

// startBy answers who has said when the work has to be done.
func (s *Session) startBy() string {
	return cmp.Or(s.times(), "How long the work takes is not known: there is no procedure for it yet.")
}

// hours writes a duration of work as 1 h 50 min.
func hours(d time.Duration) string {
	minutes := int(d.Round(time.Minute) / time.Minute)
	if minutes < 60 {
		return fmt.Sprintf("%d min", minutes)
	}
	return fmt.Sprintf("%d h %02d min", minutes/60, minutes%60)
}

// DoneBy takes the time at which the work has to be done; empty takes it back.
func (s *Session) DoneBy(text string) error {
	next := s.kept.Draft.copied()
	next.DoneBy = ""
	if text != "" {
		clock, err := readClock(text)
		if err != nil {
			return Refusal{err.Error()}
		}
		next.DoneBy = clock
	}
	return s.store(next)
}

// SaveJob makes a job of the draft, which is then done with.
func (s *Session) SaveJob(ctx context.Context, operator string) (string, error) {
	f := s.Forecast()
	if !f.Ready() || !f.Known {
		return "", Refusal{"a plan with a stop is not walked"}
	}
	name, err := s.Save(ctx, f.Planned, operator)
	if err != nil {
		return "", err
	}
	return name, s.kept.remove()
}

// WriteFile writes the job file. It never writes over a file unless that was
// asked for.
func (s *Session) WriteFile(name string, over bool) error {
	f := s.Forecast()
	if !f.Made {
		return Refusal{"there is no plan yet, and so no job file"}
	}
	mode := os.O_WRONLY | os.O_CREATE | os.O_EXCL
	if over {
		mode = os.O_WRONLY | os.O_CREATE | os.O_TRUNC
	}
	file, err := os.OpenFile(name, mode, 0o644)
	if errors.Is(err, fs.ErrExist) {
		return errThere
	}
	if err != nil {
		return Refusal{err.Error()}
	}
	_, err = file.Write(f.Job.File())
	if closed := file.Close(); err == nil {
		err = closed
	}
	if err != nil {
		return Refusal{err.Error()}
	}
	now := s.kept.Draft.copied()
	s.written = &now
	return nil
}

// errThere says that a file of the name is there already.
var errThere = errors.New("there is a file of that name already")

// fileName proposes a name for the job file.
func (s *Session) fileName() string {
	return strings.ToLower(s.Asset()) + ".yaml"
}

// ending gives the result when it ends at a place. A draft whose job file was
// written, and that has not changed since, is done with.
func (s *Session) ending(r Result, at place, err error) (Result, error) {
	if errors.Is(err, ErrLeft) && r.File != "" && s.written != nil && s.written.equalTo(s.kept.Draft) {
		err = s.kept.remove()
		return r, err
	}
	f := s.Forecast()
	r.NotReady = at == atPlan && f.Made && !f.Ready()
	if err != nil && s.Stored() {
		r.Draft = s.kept.File
	}
	return r, err
}

// shortly says how a plan is, in a line.
func (s *Session) shortly() string {
	f := s.Forecast()
	switch stops := len(f.Stops()); {
	case !f.Made:
		return "no plan yet"
	case stops == 1:
		return "STOP: 1 stop to lift first"
	case stops > 1:
		return fmt.Sprintf("STOP: %d stops to lift first", stops)
	}
	return "READY to walk: no stop"
}
