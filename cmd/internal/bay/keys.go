package bay

import (
	"slices"
	"strings"
	"time"
	"unicode"

	tea "github.com/charmbracelet/bubbletea"

	"daytank/cmd/internal/prompt"
	"daytank/procedures/checklist"
)

// longestInput is how many characters a line takes; the rest of it is dropped.
const longestInput = 2000

// key takes a key, whatever stands on the screen.
func (s *Screen) key(k tea.KeyMsg) {
	switch {
	case k.Type == tea.KeyF1 && s.panel != panelKeyOff && s.panel != panelCards:
		s.emergency()
	case k.Type == tea.KeyCtrlC:
		s.quit(interrupted)
	case k.Type == tea.KeyCtrlD && len(s.input) == 0:
		s.quit(inputEnded)
	case s.spaceStops(k):
		s.emergency()
	case s.panel == noPanel && s.tooSmall():
	case s.spells(k):
	case s.panel != noPanel:
		s.panelKey(k)
	default:
		s.questionKey(k)
	}
}

// wordPace is how soon a letter follows the one before in a word; a letter that is meant
// alone is followed by none that soon.
const wordPace = 190 * time.Millisecond

// spells takes the letters that come right behind one that acted alone: somebody types a
// word. What the letter has opened is closed again, and Enter gives the word as an answer.
func (s *Screen) spells(k tea.KeyMsg) bool {
	now := s.Hands()
	switch {
	case len(s.word.text) == 0:
		return false
	case k.Type == tea.KeyEnter && len(s.word.text) > 1:
		text := string(s.word.text)
		s.word = word{}
		if s.hands.press(now) {
			s.reading(text)
		}
		return true
	case k.Type != tea.KeyRunes || k.Paste || k.Alt || now-s.word.at > wordPace || !unicode.IsLetter(k.Runes[0]):
		s.word = word{}
		return false
	}
	s.word.text, s.word.at = append(s.word.text, k.Runes...), now
	if s.panel == panelLeave || s.panel == panelHelp {
		s.closed()
	}
	s.entry = entry{}
	s.saying = "A letter acts alone here; " + prompt.Plain(string(s.word.text)) + " is a word: Enter gives it as an answer, Esc forgets it."
	return true
}

// spaceStops tells whether a key is the Space that means STOP. It is none where
// it was pasted, in a note, and once behind the digits of a level.
func (s *Screen) spaceStops(k tea.KeyMsg) bool {
	switch {
	case !space(k) || s.ask.Kind != checklist.AskRun || s.entry.do != "" || k.Alt:
		return false
	case s.panel == panelKeyOff || s.panel == panelCards:
		return false
	}
	return s.panel != noPanel || !s.levelTyped()
}

func space(k tea.KeyMsg) bool {
	return !k.Paste && (k.Type == tea.KeySpace || k.Type == tea.KeyRunes && string(k.Runes) == " ")
}

// levelTyped tells whether the line of the live run has a level in it, so that
// a temperature may follow.
func (s *Screen) levelTyped() bool {
	return s.ask.Kind == checklist.AskRun && !s.warmth && len(s.input) > 0 && s.input[0] >= '0' && s.input[0] <= '9'
}

// quit leaves the walk at once, with everything kept.
func (s *Screen) quit(reason string) {
	if s.panel == panelKeyOff || s.panel == panelCards {
		s.result = Result{Ending: Emergency}
		return
	}
	var err error
	if s.result, err = s.leaveNow(s.ctx, reason); err != nil {
		s.result, s.err = Result{}, err
	}
}

// emergency records it and shows what to do first. That is shown even where it
// cannot be recorded.
func (s *Screen) emergency() {
	err := s.Sitting.Answer(s.ctx, checklist.Input{Do: checklist.CallOut})
	s.panel, s.scroll, s.saying = panelKeyOff, 0, ""
	s.alarm = alarm{}
	s.bells++
	s.hands.asked(s.Hands())
	if err != nil {
		s.saying = "Not in the record: " + err.Error() + "."
	}
}

// panelKey takes a key while a panel covers the question.
func (s *Screen) panelKey(k tea.KeyMsg) {
	if s.panel == panelAlarm {
		// Any key says that it was heard, and nothing else.
		s.alarm.heard, s.panel = true, noPanel
		s.hands.asked(s.Hands())
		return
	}
	if s.scrolled(k) {
		return
	}
	switch {
	case k.Type == tea.KeyEnter:
		if s.hands.press(s.Hands()) {
			s.panelEnter()
		}
	case k.Type == tea.KeyEsc, k.Type == tea.KeyPgUp && s.panel == panelLeave:
		if s.panel == panelLeave || s.panel == panelHelp {
			s.closed()
		}
	}
}

func (s *Screen) closed() {
	s.panel, s.scroll = noPanel, 0
	s.hands.asked(s.Hands())
}

func (s *Screen) panelEnter() {
	switch s.panel {
	case panelOpening:
		s.closed()
		s.look()
	case panelHelp:
		s.closed()
	case panelLeave:
		s.leaveSafe()
	case panelKeyOff:
		s.panel, s.scroll = panelCards, 0
	case panelCards:
		s.result = Result{Ending: Emergency}
	}
}

func (s *Screen) leaveSafe() {
	if !s.given(checklist.Input{Do: checklist.LeaveSafe, Text: "left by " + s.Operator}) {
		return
	}
	s.result = Result{Ending: LeftSafe}
	if s.ask.Kind == checklist.AskBlocked {
		s.result.Ending = Refused
	}
}

// scrolled takes the keys that move a text.
func (s *Screen) scrolled(k tea.KeyMsg) bool {
	switch k.Type {
	case tea.KeyDown:
		s.down(1)
	case tea.KeyUp:
		s.scroll = max(0, s.scroll-1)
	case tea.KeyPgDown:
		if !s.more {
			return false
		}
		s.down(s.height / 2)
	case tea.KeyPgUp:
		if s.scroll == 0 {
			return false
		}
		s.scroll = max(0, s.scroll-s.height/2)
	default:
		return false
	}
	return true
}

func (s *Screen) down(lines int) {
	if s.more {
		s.scroll += lines
	}
}

// questionKey takes a key at the question.
func (s *Screen) questionKey(k tea.KeyMsg) {
	s.alarm.heard = true
	if s.scrolled(k) {
		return
	}
	switch k.Type {
	case tea.KeyEnter:
		s.enter()
	case tea.KeyEsc:
		s.escape()
	case tea.KeyPgDown:
		s.presenter()
	case tea.KeyPgUp:
		if s.hands.press(s.Hands()) && s.entry.do == "" {
			s.given(checklist.Input{Do: checklist.Back})
		}
	case tea.KeyBackspace, tea.KeyCtrlH:
		s.input = s.input[:max(0, len(s.input)-1)]
	case tea.KeyCtrlU:
		s.emptied()
	case tea.KeyCtrlW:
		text := strings.TrimRight(string(s.input), " ")
		s.input = []rune(text[:strings.LastIndex(text, " ")+1])
	case tea.KeyRunes, tea.KeySpace:
		s.characters(k)
	}
}

// presenter takes PgDn, which ticks and nothing else.
func (s *Screen) presenter() {
	if !s.hands.press(s.Hands()) {
		return
	}
	if s.ask.Kind != checklist.AskTick || s.entry.do != "" || len(s.input) > 0 {
		s.saying = "PgDn ticks what is done; this wants an answer."
		return
	}
	s.answer("")
}

func (s *Screen) escape() {
	s.entry, s.level, s.warmth, s.before, s.namedBy, s.word = entry{}, "", false, "", "", word{}
	s.emptied()
}

func (s *Screen) emptied() {
	s.input = nil
	s.hands.emptied()
}

// characters takes what was typed or pasted into the line. A letter alone that
// begins no answer acts at once.
func (s *Screen) characters(k tea.KeyMsg) {
	if k.Alt {
		return
	}
	text := string(k.Runes)
	if k.Type == tea.KeySpace {
		text = " "
	}
	text = prompt.Plain(text)
	if k.Paste && s.entry.do == "" && guarded(s.ask.Kind) {
		s.saying = "Nothing pasted answers this: type it."
		return
	}
	if !s.hands.typed(s.Hands(), len([]rune(text)), k.Paste) {
		s.saying = "What was typed before this question stood here does not count."
		return
	}
	if !k.Paste && s.entry.do == "" && s.levelTyped() && strings.Contains(behindLevel, text) {
		s.warmthNext()
		return
	}
	if s.unitBehind(text) {
		s.level, s.warmth, s.input = "", false, []rune(s.level)
	}
	if len(s.input) == 0 && !k.Paste && s.entry.do == "" && !s.wordy() && s.acts(text) {
		s.hands.emptied()
		if r := []rune(text)[0]; unicode.IsLetter(r) {
			s.word = word{[]rune{r}, s.Hands()}
		}
		return
	}
	s.input = append(s.input, []rune(text)...)
	s.input = s.input[:min(len(s.input), longestInput)]
}

// unitBehind tells whether a level's unit follows behind the Space that is taken for the
// way to the temperature: 142 mm.
func (s *Screen) unitBehind(text string) bool {
	return s.warmth && s.level != "" && len(s.input) == 0 && text != "" && strings.ContainsAny(text[:1], "mgMGL") &&
		strings.Trim(s.level, "0123456789.,") == ""
}

// acts does what a letter alone means where no answer begins with it.
func (s *Screen) acts(text string) bool {
	running := s.ask.Kind == checklist.AskRun
	switch {
	case text == "?":
		s.panel, s.scroll = panelHelp, 0
	case text == "p":
		s.panel, s.scroll = panelLeave, 0
	case text == "w":
		s.Whys = !s.Whys
	case text == "g":
		s.glance = !s.glance
	case text == "n":
		s.entry = entry{checklist.AddNote, "note"}
	case text == "c":
		s.entry = entry{checklist.Correct, "step, or r for the last reading; what is right; why"}
	case text == "x":
		s.entry = entry{checklist.Deviate, "done otherwise, and why"}
	case text == "f":
		s.entry = entry{checklist.AddPhoto, "photo: its file, or Enter for the newest"}
	case text == "s" && running:
		s.stageDone()
	case text == "s":
		s.entry = entry{checklist.Skip, "reason for skipping"}
	case text == "e" && running:
		s.entry = entry{checklist.EndRun, "key off first; reason for ending the run"}
	case text == "l" && running:
		s.warmth = false
	case text == "t" && running:
		s.warmth = true
	case running && s.ask.Run.Stage > 0 && slices.ContainsFunc(checklist.AllSeen(), func(x checklist.Seen) bool { return x.Key == text }):
		s.answer(text)
	default:
		return false
	}
	return true
}
