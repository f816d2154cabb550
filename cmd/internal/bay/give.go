package bay

import (
	"errors"
	"strings"

	"daytank/cmd/internal/prompt"
	"daytank/procedures/checklist"
	"daytank/safety"
)

// enter gives the line: to what it is a command for, to the entry, or as an
// answer.
func (s *Screen) enter() {
	if !s.hands.press(s.Hands()) {
		return
	}
	text := strings.TrimSpace(string(s.input))
	switch {
	case text == "!":
		s.emergency()
	case s.namedBy != "":
		s.pin(text)
	case s.entry.do != "":
		do := s.entry.do
		switch {
		case do == checklist.AddPhoto:
			s.photo(text)
		case text == "":
			s.escape()
		default:
			s.give(checklist.Input{Do: do, Text: text})
		}
	case s.commanded(text):
	case s.ask.Kind == checklist.AskRun && s.ask.Run.Part != checklist.RunStart:
		s.reading(text)
	case guarded(s.ask.Kind) && !s.hands.byHand(s.Hands()):
		s.emptied()
		s.saying = "That came faster than hands type: type it."
	case s.ask.Kind == checklist.AskRelease && s.PIN != nil && s.PIN.Has(text):
		s.emptied()
		s.namedBy = text
	default:
		s.answer(text)
	}
}

// pin takes the PIN of the person named at a hold point; none leaves them named,
// not proved, and a wrong one releases nothing.
func (s *Screen) pin(text string) {
	name := s.namedBy
	s.namedBy = ""
	if text != "" {
		if err := s.PIN.Check(name, text); err != nil {
			s.escape()
			s.saying = "Not taken: " + prompt.Plain(err.Error()) + "."
			return
		}
	}
	s.give(checklist.Input{Do: checklist.Enter, Text: name, Proved: text != ""})
}

// commanded takes a line that is a command, as in plain lines.
func (s *Screen) commanded(text string) bool {
	command, rest, _ := strings.Cut(text, " ")
	rest = strings.TrimSpace(rest)
	running := s.ask.Kind == checklist.AskRun
	switch {
	case command == "<":
		s.give(checklist.Input{Do: checklist.Back, Text: rest})
	case strings.Contains("?pwgnscxf", command) && len(command) == 1 && rest == "", command == "e" && running && rest == "":
		s.emptied()
		s.acts(command)
	case command == "n":
		s.give(checklist.Input{Do: checklist.AddNote, Text: rest})
	case command == "c":
		s.give(checklist.Input{Do: checklist.Correct, Text: rest})
	case command == "x":
		s.give(checklist.Input{Do: checklist.Deviate, Text: rest})
	case command == "f":
		s.photo(rest)
	case command == "s":
		s.give(checklist.Input{Do: checklist.Skip, Text: rest})
	case command == "e" && running:
		s.give(checklist.Input{Do: checklist.EndRun, Text: rest})
	default:
		return false
	}
	return true
}

// beside tells whether an input stands beside the question and does not answer
// it, so that it may be given whatever is asked by now.
func beside(do checklist.Verb) bool {
	switch do {
	case checklist.AddNote, checklist.Correct, checklist.Deviate, checklist.AddPhoto:
		return true
	}
	return false
}

// taken says what became of what stands beside the question.
var taken = map[checklist.Verb]string{
	checklist.AddNote: "Noted.", checklist.Deviate: "Noted.",
	checklist.Correct:  "Corrected; the old entry stays in the record.",
	checklist.AddPhoto: "The photo is kept, without what it says of place and owner.",
}

// photo keeps the picture at a path, or the newest one.
func (s *Screen) photo(path string) {
	if s.Photo == nil {
		s.escape()
		s.saying = "No photos are kept here."
		return
	}
	name, picture, err := s.Photo(path)
	if err != nil {
		s.escape()
		s.saying = "Not taken: " + prompt.Plain(err.Error()) + "."
		return
	}
	s.give(checklist.Input{Do: checklist.AddPhoto, Text: name, Photo: picture})
}

// reading gives a line of the live run: a level, with the temperature that
// stands behind it or came before it. An empty line is for what the run asks.
func (s *Screen) reading(text string) {
	switch {
	case s.warmth && s.level == "" && text != "":
		s.before, s.warmth = text, false
		s.emptied()
		s.saying = "Temperature " + text + " °C; now the level."
	case s.warmth:
		s.answer(strings.TrimSpace(s.level + " " + text))
	case text != "" && s.before != "":
		s.answer(text + " " + s.before)
	default:
		s.answer(text)
	}
}

// warmthNext goes on from the level that stands in the line to its
// temperature.
func (s *Screen) warmthNext() {
	s.level, s.warmth, s.input = string(s.input), true, nil
}

// behindLevel are the keys that do so: Space, those of a keypad, and t.
const behindLevel = " /*+t"

// stageDone takes the key s of the live run.
func (s *Screen) stageDone() {
	r := s.ask.Run
	switch r.Part {
	case checklist.RunStage:
		s.answer("")
	case checklist.RunReading:
		s.saying = "The stage has " + checklist.Clock(max(0, r.StageOfMS-r.StageMS)) + " left; e ends the run early, with a reason."
	}
}

// answer gives an answer to the question that stands there.
func (s *Screen) answer(text string) {
	s.give(checklist.Input{Do: checklist.Enter, Text: text})
}

// give gives an input, if the question is still the one that was answered.
func (s *Screen) give(in checklist.Input) {
	asked := s.ask
	s.look()
	if s.over() {
		return
	}
	if !beside(in.Do) && !same(asked, s.ask) && !(s.engineRuns() && in.Text != "") {
		s.saying = "The question has changed meanwhile; what was typed was not taken."
		s.escape()
		return
	}
	s.given(in)
}

// given gives an input to the sitting, and tells whether it was taken.
func (s *Screen) given(in checklist.Input) bool {
	err := s.Sitting.Answer(s.ctx, in)
	var refusal safety.Refusal
	switch {
	case errors.As(err, &refusal):
		s.saying = "Not taken: " + prompt.Plain(refusal.Reason) + "."
		s.escape()
		if in.Do != checklist.LeaveSafe {
			s.look() // what proved nothing may be kept, and other digits are due then
		}
		return false
	case err != nil:
		s.failed(err)
		return false
	}
	s.escape()
	s.saying = taken[in.Do]
	if in.Do != checklist.LeaveSafe {
		s.look()
	}
	return true
}
