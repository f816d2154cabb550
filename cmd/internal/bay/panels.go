package bay

import (
	"daytank/cmd/internal/prompt"
	"daytank/procedures"
	"daytank/procedures/checklist"
	"daytank/procedures/report"
	"daytank/safety"
)

// panelLines draws what covers the question.
func (s *Screen) panelLines() []line {
	switch s.panel {
	case panelKeyOff:
		return s.keyOff(nil, s.keyLine([]string{"Enter what to do next"}))
	case panelAlarm:
		return s.keyOff([]string{s.alarm.word + ": " + s.alarm.text + "."}, s.keyLine([]string{"Enter: heard"}, emergencyKey))
	case panelCards:
		return s.page(s.cards(), s.keyLine([]string{"Enter ends", "Down Up read on", "the time is in the record"}))
	case panelLeave:
		return s.page(s.leaveList(), s.keyLine([]string{"Enter leaves it", "Esc back"}, emergencyKey))
	case panelHelp:
		return s.page(s.help(), s.keyLine([]string{"Esc back", "Down Up read on"}, emergencyKey))
	}
	return s.page(s.opening(), s.keyLine([]string{"Enter begins", "Down Up read on"}, emergencyKey))
}

// keyOff is the two words as large as the screen allows.
func (s *Screen) keyOff(reasons []string, keys line) []line {
	var said []line
	if s.saying != "" && s.panel == panelKeyOff {
		reasons = append(reasons, s.saying)
	}
	for _, reason := range reasons {
		for _, l := range folded(reason, s.width-2) {
			said = append(said, line{text: " " + l, tone: strong})
		}
	}
	room := s.height - len(said) - 1
	var lines []line
	for _, l := range filling(s.width-2, room, "KEY", "OFF") {
		lines = append(lines, line{text: " " + l, tone: stop})
	}
	for len(lines) < room {
		lines = append(lines, line{})
	}
	return append(append(lines, said...), keys)
}

// page is a text that can be scrolled, above what the keys do.
func (s *Screen) page(text []line, keys line) []line {
	room := s.height - 2
	seen := s.window(text, room)
	for len(seen) < room {
		seen = append(seen, line{})
	}
	return append(seen, s.rule(), keys)
}

func (s *Screen) cards() []line {
	t := &text{width: s.width}
	cards, err := safety.EmergencyCards()
	if err != nil {
		t.add(" ", "STOP", "KEY OFF. Get away from the vehicle. Call for help.", stop)
		return t.lines
	}
	t.add(" ", "STOP", cards.First+". The job is stopped. When it is taken up, what was proved is proved again, from isolate on.", stop)
	values := map[string]string{"emergency_number": s.EmergencyNumber}
	for _, c := range cards.Cards {
		t.lines = append(t.lines, line{})
		t.add(" ", "", procedures.Fill(c.Say, values), plain)
		t.lines[len(t.lines)-1].tone = strong
		for _, do := range c.Do {
			t.hang("   ", "- ", procedures.Fill(do, values))
		}
	}
	t.lines = append(t.lines, line{})
	t.add(" ", "", "Pressed by mistake: the walk goes on with daytank walk "+report.Name(s.Sitting.Summary)+"; say so there in a note (n).", plain)
	return t.lines
}

func (s *Screen) leaveList() []line {
	t := &text{width: s.width}
	t.add(" ", "SAFE", "Leave it safe:", safe)
	cards, err := safety.EmergencyCards()
	if err != nil {
		t.add(" ", "", err.Error(), plain)
	}
	for _, do := range cards.LeaveSafe {
		t.hang("   ", "- ", do)
	}
	kept := "Everything entered is kept. " + report.Name(s.Sitting.Summary) + " is taken up again with daytank walk."
	if s.Demo {
		kept = "A demonstration is kept only where --store names a file; daytank demo --by-hand begins it anew."
	}
	t.add(" ", "", kept, plain)
	t.add(" ", "", s.saying, plain)
	return t.lines
}

// keysHelp says what every key does.
var keysHelp = []struct{ key, does string }{
	{"Enter", "gives the line; ticks a step that is done"},
	{"PgDn", "ticks a step, nothing else; PgUp goes back"},
	{"<", "back to the step before, or to one by its number:  < 15"},
	{"n", "a note"},
	{"c", "correct a wrong number: step; what is right; why"},
	{"x", "say what was done otherwise than it stands here, and why"},
	{"f", "keep a photo, the newest or by its file"},
	{"s", "skip this step, with a reason (not where something must be proved)"},
	{"p", "leave it safe, and take it up again later"},
	{"w", "show or hide why each step is done"},
	{"g", "the glance view, and back"},
	{"F1, ! Enter", "emergency: KEY OFF first"},
	{"Space", "in the run: STOP, which is the emergency"},
	{"l, t", "in the run: level, temperature"},
	{"s, e", "in the run: stage done; end it early, with a reason"},
	{"Ctrl-C", "leaves at once, with everything kept"},
}

func (s *Screen) help() []line {
	t := &text{width: s.width}
	step := s.ask.Step
	if h, ok := safety.HazardByID(step.Hazard); ok {
		t.add(" ", "CAUTION", h.Name+": "+h.What, caution)
		t.add(" ", "", "what keeps it away: "+h.Control, plain)
		t.add(" ", "", "if it happened: "+h.IfItDid, plain)
		t.lines = append(t.lines, line{})
	}
	if step.Why != "" {
		t.add(" ", "", "why: "+step.Why, plain)
		t.add(" ", "", "it rests on: "+step.Source, plain)
		t.lines = append(t.lines, line{})
	}
	for _, k := range keysHelp {
		t.hang(" ", padded(k.key, 12), k.does)
	}
	if s.ask.Kind == checklist.AskRun {
		t.add(" ", "", checklist.SeenHelp(), plain)
	}
	if s.wordy() {
		t.add(" ", "", "Where an answer is in words, a letter wants Enter behind it.", plain)
	}
	return t.lines
}

// opening is what comes before the first question.
func (s *Screen) opening() []line {
	t := &text{width: s.width}
	list := s.Sitting.State().List()
	t.add(" ", "", report.Name(s.Sitting.Summary)+"  "+prompt.Plain(list.Title), plain)
	t.lines[0].tone = strong
	if s.Demo {
		t.add(" ", "", "DEMONSTRATION: nobody does this work.", plain)
	}
	for _, c := range list.Cautions {
		t.lines = append(t.lines, line{})
		t.add(" ", "", c, plain)
	}
	return t.lines
}
