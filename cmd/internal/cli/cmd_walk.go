package cli

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"daytank/cmd/internal/photo"
	"daytank/cmd/internal/prompt"
	"daytank/cmd/internal/sitting"
	"daytank/procedures"
	"daytank/procedures/checklist"
	"daytank/procedures/record"
	"daytank/procedures/report"
	"daytank/procedures/store"
	"daytank/safety"
)

// newWalkCommand makes `daytank walk`.
func newWalkCommand(a *app) *cobra.Command {
	var set, sheets []string
	cmd := &cobra.Command{
		Use:   "walk [JOB|FILE]",
		Short: "walk the checklist, and take up one that was left",
		Long: `Walks the checklist of a job, one step at a time, and keeps every answer before
it shows the next. With a job file it makes a new job, or takes up the one that
was made of this file and is not finished. With a job it takes it up where it
was left. Without either it takes up the one that is open, or asks which.

A plan with a stop is refused with status 3. Confirmations are typed at the
terminal and nowhere else: without one, walk refuses with status 3.

With --from-paper what was done by a printed sheet (daytank plan FILE --sheet)
is entered afterwards, as it stands there, with a photo of the sheet. That
proves nothing to the program: the job goes to the review as from paper.`,
		Example: `  daytank walk van.yaml
  daytank walk VAN-07/3
  daytank walk van.yaml --from-paper page-1.jpg --from-paper page-2.jpg
  daytank walk`,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) > 1 {
				return usage(fmt.Sprintf("%s takes one job or file, not %d", cmd.CommandPath(), len(args)))
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			return a.walk(cmd.Context(), strings.Join(args, ""), set, sheets)
		},
		ValidArgsFunction: a.completeJobOrFile,
	}
	cmd.Flags().StringArrayVar(&set, "set", nil, "`PATH=VALUE` to change in the job first; may be repeated")
	cmd.Flags().StringArrayVar(&sheets, "from-paper", nil, "`PHOTO` of the sheet that the work was done by; may be repeated")
	return cmd
}

// openStates are those of a job that can be walked.
var openStates = []record.State{
	record.StateReady, record.StateWalking, record.StatePaused, record.StateStopped, record.StateSentBack,
}

// leftAs says in words how a job that can be walked stands.
var leftAs = map[record.State]string{
	record.StateReady:    "ready, not begun",
	record.StateWalking:  "open, perhaps at another terminal",
	record.StatePaused:   "left part way",
	record.StateStopped:  "stopped by an emergency",
	record.StateSentBack: "sent back by the review",
}

func (a *app) walk(ctx context.Context, name string, set, sheets []string) error {
	library, err := a.books()
	if err != nil {
		return err
	}
	if !a.env.StdinIsTerminal() || !a.env.StdoutIsTerminal() {
		return fail(Refused, errors.New("a checklist is walked at a terminal: confirmations are typed by the person at the vehicle"),
			"start it in a terminal, without a pipe or a file at either end")
	}
	s, err := a.settings()
	if err != nil {
		return err
	}
	a.exchange(ctx, patienceBefore)
	defer a.exchange(ctx, patienceAfter)
	kept, err := a.openStore(ctx)
	if err != nil {
		return err
	}
	defer kept.Close()
	w := walker{app: a, store: kept, library: library, whys: s.Whys, operator: cmp.Or(a.flags.operator, s.Operator), told: map[string]bool{}, rings: ringer(ctx, s.AlarmCommand)}
	if len(sheets) > 0 && name == "" {
		return usage("name the job that the sheet is of", "such as: daytank walk van.yaml --from-paper page-1.jpg")
	}
	if err := w.photograph(sheets); err != nil {
		return err
	}
	w.seat()
	if err := w.open(ctx, name, set); err != nil {
		return err
	}
	return w.walk(ctx)
}

// conversation is where answers come from: the terminal, or the invented person
// of the demonstration.
type conversation interface {
	Read(ctx context.Context, question string, wake time.Duration) (string, error)
	ReadFresh(ctx context.Context, question string, wake time.Duration, mono func() time.Duration) (string, error)
}

// walker walks one job: in plain lines, or on a screen after the questions that
// come before it.
type walker struct {
	app      *app
	talk     conversation
	takeBack func() // ends the conversation for the screen; nil: plain lines all along
	store    store.Store
	library  *procedures.Library
	whys     bool
	operator string
	bench    sitting.Bench
	sitting  *sitting.Sitting
	asked    checklist.Ask // last
	told     map[string]bool
	shown    string          // what of the question stands on the screen already
	taken    string          // how a walk that was left is taken up again; empty: it is new
	rings    func()          // beside the bell; nil: the bell alone
	sheets   []photo.Picture // of the paper that the work was done by; none: it is done now
}

// seat begins the conversation with the person at the terminal.
func (w *walker) seat() {
	in := w.app.env.Stdin
	if !w.app.lineMode() && len(w.sheets) == 0 {
		in, w.takeBack = w.app.lentInput()
	}
	w.talk = prompt.New(in, w.app.env.Stdout, w.app.env.Sleep)
}

// walk walks the job that is open, until the sitting is done or left.
func (w *walker) walk(ctx context.Context) error {
	if w.takeBack == nil {
		return w.walkInLines(ctx)
	}
	w.takeBack()
	return w.walkOnScreen(ctx)
}

// open finds or makes the job, and takes it up.
func (w *walker) open(ctx context.Context, name string, set []string) error {
	if name == "" || looksLikeJob(name) {
		if len(set) > 0 {
			return usage("--set changes the job of a file, before it is begun", "a job that is being walked is changed by going back to a step with <")
		}
		sum, err := w.choose(ctx, name)
		if err != nil {
			return err
		}
		return w.resume(ctx, sum)
	}
	return w.openFile(ctx, name, set)
}

// choose gives the job named, or the one that is open; of several one is asked.
func (w *walker) choose(ctx context.Context, name string) (record.Summary, error) {
	if name != "" {
		return findJob(ctx, w.store, name)
	}
	open, err := w.store.Jobs(ctx, store.Query{States: openStates})
	switch {
	case err != nil:
		return record.Summary{}, err
	case len(open) == 0:
		return record.Summary{}, usage("no job is open", "daytank walk FILE makes one of a job file")
	case len(open) == 1:
		return open[0], nil
	}
	return w.pickJob(ctx, open)
}

// openFile makes a job of a file, or takes up the unfinished one made of it.
func (w *walker) openFile(ctx context.Context, name string, set []string) error {
	job, err := w.app.readJob(w.library, name, set)
	if err != nil {
		return err
	}
	if err := w.setBench(ctx); err != nil {
		return err
	}
	planned, err := w.bench.Prepare(job)
	if err != nil {
		return err
	}
	open, err := w.store.Jobs(ctx, store.Query{Asset: job.Asset, States: openStates})
	if err != nil {
		return err
	}
	digest := planned.Blobs()[0].Digest()
	for _, sum := range open {
		events, err := w.store.Events(ctx, sum.Job)
		if err != nil {
			return err
		}
		if sitting.FirstJob(events) == digest {
			return w.resume(ctx, sum)
		}
		fmt.Fprintf(w.app.env.Stdout, "%s is open as well: %s\n", report.Name(sum), prompt.Plain(sum.Title))
	}
	if !planned.Assessment.Ready && len(w.sheets) == 0 {
		w.refuse(planned.Assessment)
		return end(Refused)
	}
	if err := w.askOperator(ctx); err != nil {
		return err
	}
	paper, err := w.askPaper(ctx)
	if err != nil {
		return err
	}
	if w.sitting, err = w.bench.Begin(ctx, planned); err != nil {
		return err
	}
	return w.begin(ctx, paper)
}

// refuse says which stops keep the plan from being walked, and what lifts them.
func (w *walker) refuse(judged safety.Assessment) {
	show, _ := w.app.printer()
	out := w.app.env.Stdout
	fmt.Fprintln(out, "STOP: this plan is not walked.")
	for _, f := range judged.Worded(show) {
		if f.Severity != safety.Stop.String() {
			continue
		}
		w.stop(f.Message, f.Lift, f.Set)
	}
}

func (w *walker) stop(message, lift string, set []string) {
	out, columns := w.app.env.Stdout, w.columns()
	fmt.Fprintln(out, report.Wrap("STOP: "+message+".", "  ", columns))
	if lift != "" {
		fmt.Fprintln(out, report.Wrap("what lifts it: "+lift+".", "    ", columns))
	}
	for _, change := range set {
		fmt.Fprintf(out, "      --set '%s'\n", change)
	}
}

func (w *walker) resume(ctx context.Context, sum record.Summary) error {
	if sum.State == record.StateToReview || sum.State == record.StateWaiting || sum.State == record.StateSigned {
		return usage(fmt.Sprintf("job %s is finished: %s", report.Name(sum), sum.State), "daytank show "+report.Name(sum)+" shows it")
	}
	if sum.State == record.StateSentBack {
		return usage(fmt.Sprintf("job %s was sent back", report.Name(sum)), "daytank review "+report.Name(sum)+" shows what for, and takes explanations, corrections and steps to reopen")
	}
	if err := w.askOperator(ctx); err != nil {
		return err
	}
	if err := w.askTakeOver(ctx, sum); err != nil {
		return err
	}
	paper, err := w.askPaper(ctx)
	if err != nil {
		return err
	}
	if w.sitting, err = w.bench.Resume(ctx, sum.Job); err != nil {
		return err
	}
	if sum.State != record.StateReady {
		w.taken = takenUp(sum.State)
	}
	return w.begin(ctx, paper)
}

// askTakeOver asks before a walk is taken from whoever has it open: nobody left it, so
// that it may stand on another terminal beside a running engine. After a flat battery
// the same question comes, and the same answer goes on.
func (w *walker) askTakeOver(ctx context.Context, sum record.Summary) error {
	if sum.State != record.StateWalking {
		return nil
	}
	events, err := w.store.Events(ctx, sum.Job)
	if err != nil || fromTheDesk(events) {
		return err
	}
	fmt.Fprintln(w.app.env.Stdout, report.Wrap(fmt.Sprintf(
		"Nobody left %s: its last entry is of %s, by %s. It may be open on another terminal, which then ends at its next answer.",
		report.Name(sum), sum.Updated.In(w.app.env.Now().Location()).Format("2006-01-02 15:04"), prompt.Plain(sum.Operator)), "", w.columns()))
	agreed, err := w.agrees(ctx, "take", "to go on here, Enter to leave it there")
	if err != nil || agreed {
		return err
	}
	return fail(Stopped, errors.New("left where it is"), "daytank show "+report.Name(sum)+" shows it")
}

// agrees asks for a word, or 1 for hands in gloves, and tells whether it was typed.
func (w *walker) agrees(ctx context.Context, word, otherwise string) (bool, error) {
	text, err := w.talk.Read(ctx, fmt.Sprintf("type  %s  (or 1) %s > ", word, otherwise), 0)
	if err != nil {
		return false, w.ended(err)
	}
	text = strings.ToLower(strings.TrimSpace(text))
	return text == word || text == "1", nil
}

// fromTheDesk tells whether a job stands as the review left it: sent back or recalled, and
// steps reopened since. Nobody can have it open at a vehicle.
func fromTheDesk(events []record.Event) bool {
	for _, e := range slices.Backward(events) {
		switch e.Kind {
		case record.KindStepReopened, record.KindExplained, record.KindAmended, record.KindNote, record.KindPhoto, record.KindTransferred:
		default:
			return e.Kind == record.KindSentBack || e.Kind == record.KindRecalled
		}
	}
	return false
}

// takenUp says how a job is taken up again, by the state it was in.
func takenUp(was record.State) string {
	text := "Taken up where it was left; everything entered is kept."
	if was == record.StateStopped {
		text += " It was stopped by an emergency: n notes what happened."
	}
	return text
}

// askOperator finds out who works, and sets up the bench for that person.
func (w *walker) askOperator(ctx context.Context) error {
	if w.operator == "" {
		question := "Who does the work?"
		if len(w.sheets) > 0 {
			question = "Who enters it?"
		}
		name, err := w.app.askName(ctx, w.talk, question)
		if err != nil {
			return w.ended(err)
		}
		w.operator = name
	}
	if err := w.askClock(ctx); err != nil {
		return err
	}
	return w.setBench(ctx)
}

// askClock asks before a walk is recorded by a clock that cannot be right.
func (w *walker) askClock(ctx context.Context) error {
	_, wrong := w.app.checkClock()
	if wrong == nil {
		return nil
	}
	fmt.Fprintln(w.app.env.Stdout, report.Wrap("CAUTION: the clock of this machine cannot be right: "+wrong.Error()+".", "", w.columns()))
	agreed, err := w.agrees(ctx, "go on", "to walk by this clock, Enter to leave it and set the clock")
	if err != nil || agreed {
		return err
	}
	return fail(Stopped, errors.New("left: the clock is to be set first"), "daytank check says what the clock shows")
}

// setBench sets up the bench for whoever works. How long the steps take here is read once.
func (w *walker) setBench(ctx context.Context) error {
	walks := w.bench.Walks
	var err error
	if walks == nil {
		w.bench, err = w.app.planningBench(ctx, w.store, w.library, w.operator)
		return err
	}
	w.bench, err = w.app.bench(w.store, w.library, w.operator)
	w.bench.Walks = walks
	return err
}

// ended turns an end of the conversation before a job was opened into its
// status.
func (w *walker) ended(err error) error {
	return stopped(err, "nothing was begun")
}

// greet says which job it is, and what comes before the first step; a screen
// says it itself.
func (w *walker) greet() {
	if w.takeBack != nil {
		return
	}
	out, list := w.app.env.Stdout, w.sitting.State().List()
	name := report.Name(w.sitting.Summary)
	fmt.Fprintf(out, "\n%s  %s\n", name, prompt.Plain(list.Title))
	if w.taken != "" {
		fmt.Fprintln(out, report.Wrap(w.taken, "", w.columns()))
	}
	if w.sitting.Summary.Demo {
		fmt.Fprintln(out, "DEMONSTRATION: nobody does this work.")
	}
	if w.sitting.State().Paper() {
		w.greetPaper()
		return
	}
	fmt.Fprintln(out)
	for _, c := range list.Cautions {
		fmt.Fprintln(out, report.Wrap(c, "  ", w.columns()))
	}
	fmt.Fprintln(out, "\n  ? help   < back   n note   s skip   p leave it safe   ! emergency")
}

func (w *walker) columns() int { return min(w.app.env.Width(), 79) }
