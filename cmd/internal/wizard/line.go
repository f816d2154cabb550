package wizard

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"daytank/cmd/internal/prompt"
)

// liner is the face of plain lines.
type liner struct {
	*Session
	config Config
	at     place
	page   string // whose head stands on the screen
	shown  string // the question that stands there
	result Result
}

// RunLine asks in plain lines. The error is [ErrLeft] with the draft kept, or
// what failed.
func RunLine(ctx context.Context, c Config) (Result, error) {
	l := &liner{config: c}
	err := l.open(ctx)
	if err == nil && l.Session != nil {
		l.at = l.start()
		err = l.ask(ctx)
	}
	if errors.Is(err, prompt.ErrEnd) || ctx.Err() != nil {
		err = ErrLeft
	}
	if l.Session == nil {
		return l.result, err
	}
	return l.ending(l.result, l.at, err)
}

func (l *liner) write(format string, args ...any) {
	fmt.Fprintf(l.config.Out, format, args...)
}

func (l *liner) columns() int {
	if l.config.Columns == nil {
		return 79
	}
	return max(20, min(l.config.Columns(), 80)-1)
}

// say writes a paragraph.
func (l *liner) say(indent, text string) {
	for _, line := range folded(text, indent, l.columns()) {
		l.write("%s\n", line)
	}
}

func (l *liner) read(ctx context.Context, question string) (string, error) {
	text, err := l.config.Talk.Read(ctx, question, 0)
	return prompt.Plain(text), err
}

// open goes on with a draft or a job that is there, or begins a new draft.
func (l *liner) open(ctx context.Context) error {
	drafts, err := (shelf{l.config.Drafts}).open()
	if err != nil {
		return err
	}
	var from *kept
	if len(drafts)+len(l.config.Open) > 0 {
		text, err := l.pick(ctx, drafts)
		if err != nil {
			return err
		}
		draft, job := l.config.beginning(drafts, text)
		if job != nil {
			l.result = job.walked()
			return nil
		}
		from = draft
	}
	if from != nil {
		l.Session = resume(l.config, *from)
	} else if l.Session, err = Begin(l.config); err != nil {
		return err
	}
	l.say("", "A few questions, and then the plan. ? help, < back, + more questions, p leaves and keeps what was answered.")
	return nil
}

// pick asks how to begin, and gives what was chosen.
func (l *liner) pick(ctx context.Context, drafts []kept) (string, error) {
	l.say("", l.config.unfinished()+":")
	all := l.config.beginnings(drafts)
	for _, e := range all {
		l.say("  ", e.value+"  "+e.text)
	}
	for {
		text, err := l.read(ctx, "its number, or new > ")
		if err != nil {
			return "", err
		}
		if text == "p" {
			return "", ErrLeft
		}
		for _, e := range all {
			if strings.EqualFold(text, e.value) {
				return e.value, nil
			}
		}
		l.say("  ", "Type one of the numbers, or new.")
	}
}

// ask goes from question to question until the person is done or leaves.
func (l *liner) ask(ctx context.Context) error {
	for {
		q, ok := l.at.of()
		if !ok {
			if done, err := l.plan(ctx); done || err != nil {
				return err
			}
			continue
		}
		if err := l.Turn(q.Page); err != nil {
			return err
		}
		l.show(q)
		text, err := l.read(ctx, "> ")
		if err != nil {
			return err
		}
		if err := l.answer(ctx, q, text); err != nil {
			return err
		}
	}
}

// answer takes a line: an answer, or a command.
func (l *liner) answer(ctx context.Context, q Question, text string) error {
	c, arg := commandOf(text, q)
	var err error
	var next place
	switch {
	case c == help:
		l.help(q)
		return nil
	case c == leave:
		return ErrLeft
	case c != noCommand:
		next, err = l.obey(c, arg, l.at)
	case text == "":
		next, err = l.goOn(l.at, l.Skip(q))
	default:
		next, err = l.goOn(l.at, l.Give(ctx, q, text))
	}
	if reason, ok := refused(err); ok {
		l.say("  ", reason)
		return nil
	}
	if err != nil {
		return err
	}
	if c == noCommand || c == notKnown || c == atVehicle {
		l.say("  ", q.Name+": "+prompt.Plain(l.Answered(q)))
	}
	if said := l.told(); said != "" {
		l.say("  ", said)
	}
	l.at, l.shown = next, ""
	return nil
}

// show writes a question, once.
func (l *liner) show(q Question) {
	if l.shown == q.Path {
		return
	}
	l.shown = q.Path
	if l.page != q.Page {
		l.page = q.Page
		l.write("\n%s\n", l.pageLine(q))
		l.say("", pageOf(q.Page).About)
	}
	l.write("\n")
	l.say("", q.Ask)
	l.say("  ", q.Help)
	if q.Kind == Choice {
		l.options(q)
	}
	for _, fact := range q.Facts(l.Look(), l.Printer) {
		l.say("  ", fact)
	}
	if enter := l.enter(q); enter != "" {
		l.say("  ", enter)
	}
}

// enter says what Enter alone does.
func (l *liner) enter(q Question) string {
	stands := prompt.Plain(l.Answered(q))
	switch {
	case l.fromEngine(q):
		return "stands, from the kept engine: " + stands + " (Enter keeps it)"
	case stands != "":
		return "stands: " + stands + " (Enter keeps it)"
	case q.AtVehicle:
		return "Enter alone: will check at the vehicle"
	case q.NotKnown:
		return "Enter alone: not known"
	}
	return ""
}

func (l *liner) options(q Question) {
	options := q.Options(l.Engines)
	widest := 0
	for _, o := range options {
		widest = max(widest, len([]rune(o.Word)))
	}
	for i, o := range options {
		say := o.Say
		if say == "" {
			l.write("   %2d  %s\n", i+1, o.Word)
			continue
		}
		lines := folded(say, strings.Repeat(" ", widest+9), l.columns())
		l.write("   %2d  %-*s  %s\n", i+1, widest, o.Word, strings.TrimSpace(lines[0]))
		for _, more := range lines[1:] {
			l.write("%s\n", more)
		}
	}
}

// option writes a key and what it does.
func (l *liner) option(key, say string) {
	lines := folded(say, "      ", l.columns())
	lines[0] = fmt.Sprintf("  %-3s %s", key, strings.TrimSpace(lines[0]))
	l.write("%s\n", strings.Join(lines, "\n"))
}

func (l *liner) help(q Question) {
	l.write("\n")
	for _, m := range q.means() {
		l.write("  %s\n", m)
	}
	l.say("  ", "pages: "+pageTitles()+", plan")
	l.say("  ", "in the job file: "+strings.Join(q.Paths(), ", "))
	l.say("  ", "so far: "+strings.Join(l.Forecast().briefly(l.Session), "; "))
	l.shown = ""
}

// plan shows the plan, and takes what is to be done with it.
func (l *liner) plan(ctx context.Context) (done bool, err error) {
	if err := l.Turn(PlanPage); err != nil {
		return true, err
	}
	l.page = PlanPage
	if l.shown != PlanPage {
		l.shown = PlanPage
		l.write("\n")
		for _, line := range l.planLines(l.columns()) {
			l.write("%s\n", line)
		}
		l.write("\n")
	}
	for _, a := range l.actions() {
		l.option(a.key, a.say)
	}
	l.option("<", "back")
	l.option("+", "more questions: + engine, + fluid, + rig, + condition, + tank")
	l.option("p", "leave; the draft is kept")
	text, err := l.read(ctx, "plan > ")
	if err != nil {
		return true, err
	}
	done, err = l.act(ctx, text)
	if reason, ok := refused(err); ok {
		l.say("  ", reason)
		return false, nil
	}
	return done, err
}

// act does what was chosen at the plan.
func (l *liner) act(ctx context.Context, text string) (done bool, err error) {
	c, arg := commandOf(text, Question{})
	switch {
	case c == help:
		l.shown = ""
		return false, nil
	case c == leave:
		return true, ErrLeft
	case c != noCommand && c != notKnown:
		next, err := l.obey(c, arg, atPlan)
		if err == nil {
			l.at, l.shown = next, ""
		}
		return false, err
	}
	for _, a := range l.actions() {
		if !strings.EqualFold(a.key, text) {
			continue
		}
		switch {
		case a.lift != nil:
			l.shown = ""
			err := l.Lift(*a.lift)
			if err == nil {
				l.say("  ", "Done: "+l.Printer.Phrase(a.lift.Lift)+". Planned again.")
			}
			return false, err
		case a.key == keyBack:
			l.shown = ""
			said, err := l.takenBack()
			if err == nil {
				l.say("  ", said)
			}
			return false, err
		case a.key == keyFile:
			return false, l.toFile(ctx)
		case a.key == keyClock:
			return false, l.clock(ctx)
		}
		return l.toJob(ctx, a.key == keyWalk)
	}
	return false, Refusal{"type one of the letters or numbers above"}
}

func (l *liner) toJob(ctx context.Context, walk bool) (bool, error) {
	operator := l.Operator
	for operator == "" {
		text, err := l.read(ctx, "Your name, for the record > ")
		if err != nil {
			return true, err
		}
		operator = text
	}
	name, err := l.SaveJob(ctx, operator)
	if err != nil {
		return false, err
	}
	l.result.Job, l.result.Operator, l.result.Walk = name, operator, walk
	l.say("", "Saved as "+name+".")
	return true, nil
}

func (l *liner) toFile(ctx context.Context) error {
	name, err := l.read(ctx, fmt.Sprintf("Name of the file (Enter: %s) > ", l.fileName()))
	if err != nil {
		return err
	}
	if name == "" {
		name = l.fileName()
	}
	err = l.WriteFile(name, false)
	if errors.Is(err, errThere) {
		text, failed := l.read(ctx, fmt.Sprintf("%s is there already. Type over to write over it, or Enter for another name > ", name))
		switch {
		case failed != nil:
			return failed
		case text != "over":
			return Refusal{"the file was left as it is"}
		}
		err = l.WriteFile(name, true)
	}
	if err != nil {
		return err
	}
	l.result.File = name
	l.say("  ", "Written: "+name+". daytank plan "+name+" reads it.")
	return nil
}

func (l *liner) clock(ctx context.Context) error {
	text, err := l.read(ctx, "Done by, such as 17:30 (Enter: no matter) > ")
	if err != nil {
		return err
	}
	if err := l.DoneBy(text); err != nil {
		return err
	}
	l.say("  ", l.startBy())
	return nil
}
