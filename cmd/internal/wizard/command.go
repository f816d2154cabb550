package wizard

import (
	"errors"
	"fmt"
	"strings"

	"daytank/procedures/report"
)

// command is a word that is no answer.
type command uint8

const (
	noCommand command = iota
	help
	back
	onward // to what is open
	more
	notKnown
	atVehicle
	leave
)

// commands by how they begin. A page may follow < and +.
var commands = []struct {
	word    string
	command command
	means   string
}{
	{"?", help, "this help, and what the question is for"},
	{"<", back, "back to the question before; < rig goes to a page"},
	{">", onward, "on to the first question without an answer, or to the plan"},
	{"+", more, "ask this page in full; + rig another one"},
	{"-", notKnown, "not known"},
	{"v", atVehicle, "will check at the vehicle"},
	{"p", leave, "leave; the draft is kept"},
}

// means gives the words that a question takes, with what they mean.
func (q Question) means() []string {
	var all []string
	for _, c := range commands {
		if c.command == notKnown && !q.NotKnown || c.command == atVehicle && !q.AtVehicle {
			continue
		}
		all = append(all, fmt.Sprintf("%-3s %s", c.word, c.means))
	}
	return all
}

// commandOf tells whether a line is a command, with the page that follows it.
func commandOf(text string, q Question) (command, string) {
	for _, c := range commands {
		rest, found := strings.CutPrefix(text, c.word)
		switch {
		case !found:
		case c.command == back || c.command == more:
			if _, known := pageNamed(rest); known || strings.TrimSpace(rest) == "" {
				return c.command, strings.TrimSpace(rest)
			}
		case rest != "":
		case c.command == atVehicle && !q.AtVehicle:
		default:
			return c.command, ""
		}
	}
	return noCommand, ""
}

// place is where a face is: at a question, or at the plan.
type place struct{ path string }

// atPlan is the last page.
var atPlan = place{PlanPage}

// of gives the question that a place is at.
func (p place) of() (Question, bool) {
	i := indexOf(p.path)
	if i < 0 {
		return Question{}, false
	}
	return questions()[i], true
}

// after gives the place after a question.
func (s *Session) after(path string) place {
	if q, ok := s.Next(path); ok {
		return place{q.Path}
	}
	return atPlan
}

// before gives the place before one; the first has none before it.
func (s *Session) before(p place) place {
	if q, ok := s.Before(p.path); ok {
		return place{q.Path}
	}
	return p
}

// start gives where a wizard begins: a new draft at its first question, one that
// was left at what is open.
func (s *Session) start() place { return s.onward() }

func (s *Session) onward() place {
	if q, ok := s.FirstOpen(); ok {
		return place{q.Path}
	}
	return atPlan
}

// toPage gives the first question of a page; a page of which nothing is asked on
// the short path is asked in full.
func (s *Session) toPage(page string) (place, error) {
	if page == PlanPage {
		return atPlan, nil
	}
	if len(s.Asked(page)) == 0 {
		if err := s.More(page); err != nil {
			return place{}, err
		}
	}
	return s.firstOf(page), nil
}

func (s *Session) firstOf(page string) place {
	if asked := s.Asked(page); len(asked) > 0 {
		return place{asked[0].Path}
	}
	return atPlan
}

// obey does what a command says, and gives where that leads. Help and leaving
// are for the face.
func (s *Session) obey(c command, arg string, at place) (place, error) {
	q, _ := at.of()
	switch c {
	case back:
		if page, ok := pageNamed(arg); ok {
			return s.toPage(page.ID)
		}
		return s.before(at), nil
	case onward:
		return s.onward(), nil
	case more:
		return s.inFull(q, arg, at)
	case notKnown:
		return s.goOn(at, s.NotKnown(q))
	case atVehicle:
		return s.goOn(at, s.AtVehicle(q))
	}
	return at, nil
}

// goOn gives the place after one, unless something was refused there.
func (s *Session) goOn(at place, err error) (place, error) {
	if err != nil {
		return at, err
	}
	return s.after(at.path), nil
}

// inFull asks a page in full. The page at hand goes on where it is.
func (s *Session) inFull(q Question, arg string, at place) (place, error) {
	page, named := pageNamed(arg)
	if !named {
		page = pageOf(q.Page)
	}
	if page.ID == PlanPage || at == atPlan && !named {
		return at, Refusal{"say which page, such as + engine: " + pageTitles()}
	}
	if err := s.More(page.ID); err != nil {
		return at, err
	}
	if page.ID == q.Page {
		return at, nil
	}
	return s.firstOf(page.ID), nil
}

func pageTitles() string {
	var titles []string
	for _, p := range pages[:len(pages)-1] {
		titles = append(titles, strings.ToLower(p.Title))
	}
	return strings.Join(titles, ", ")
}

// pageLine says where one is: the page, and how many questions are open.
func (s *Session) pageLine(q Question) string {
	text := fmt.Sprintf("%s, page %d of %d", pageOf(q.Page).Title, pageIndex(q.Page)+1, len(pages))
	switch open := len(s.Open()); open {
	case 0:
		return text + "; no question is open"
	case 1:
		return text + "; 1 question is open"
	default:
		return fmt.Sprintf("%s; %d questions are open", text, open)
	}
}

// briefly gives the plan so far in a few lines: charge, stop time, peak, stops.
func (f Forecast) briefly(s *Session) []string {
	if !f.Made {
		return f.notYet()
	}
	show, p := s.Printer, f.Planned.Plan
	lines := []string{
		"charge  " + show.Volume(p.Fluid.Charge) + packs(p.Fluid.Packs),
		"stop    after " + show.Duration(p.Run) + ", or at " + show.VolumeFine(p.RunDry.StopLevel),
		"peak    " + show.Temperature(p.Heat.Peak.Expected) + ", at worst " + show.Temperature(p.Heat.Peak.High),
	}
	stops := f.Stops()
	if len(stops) == 0 {
		return append(lines, "SAFE    no stop so far")
	}
	for _, stop := range stops {
		lines = append(lines, "STOP    "+stop.Rule)
	}
	return lines
}

func packs(n int) string {
	if n == 1 {
		return ", 1 pack"
	}
	return fmt.Sprintf(", %d packs", n)
}

func (f Forecast) notYet() []string {
	if len(f.Open) == 0 {
		return append([]string{"no plan yet:"}, f.Problems...)
	}
	var names []string
	for _, q := range f.Open {
		names = append(names, q.Name)
	}
	return []string{"no plan yet; it waits for " + strings.Join(names, ", ")}
}

// refused gives the reason of a refusal as a sentence, and whether it is one.
func refused(err error) (string, bool) {
	var r Refusal
	if !errors.As(err, &r) {
		return "", false
	}
	return "Not taken: " + strings.TrimRight(r.Reason, ".") + ".", true
}

// folded breaks a text at spaces into lines of at most a width.
func folded(text, indent string, width int) []string {
	return strings.Split(report.Wrap(text, indent, width), "\n")
}
