package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/creack/pty"
	"github.com/google/uuid"

	"daytank/cmd/internal/sitting"
	"daytank/procedures"
	"daytank/procedures/checklist"
	"daytank/procedures/checklist/rehearsal"
	"daytank/procedures/record"
	"daytank/procedures/store"
)

// sharedClock is a clock so many times as fast that the program and the test that
// drives it read alike.
type sharedClock struct {
	origin time.Time
	times  int64
}

func (c sharedClock) String() string { return fmt.Sprintf("%d@%d", c.times, c.origin.UnixNano()) }

func sharedClockOf(text string) (sharedClock, bool) {
	var c sharedClock
	var origin int64
	if _, err := fmt.Sscanf(text, "%d@%d", &c.times, &origin); err != nil {
		return c, false
	}
	c.origin = time.Unix(0, origin)
	return c, true
}

func (c sharedClock) now() time.Time {
	return c.origin.Add(time.Since(c.origin) * time.Duration(c.times))
}

// real gives how long a time by this clock lasts.
func (c sharedClock) real(ms int64) time.Duration {
	return time.Duration(ms) * time.Millisecond / time.Duration(c.times)
}

func (c sharedClock) set(a *app) {
	sleep := a.env.Sleep
	a.env.Now = c.now
	a.env.Mono = func() time.Duration { return c.now().Sub(c.origin) }
	// A screen that drew itself so many times as often would have the machine to itself.
	a.env.Sleep = func(ctx context.Context, d time.Duration) { sleep(ctx, d/8) }
}

// through is one walk in a pseudo-terminal.
type through struct {
	name, home string
	args       []string
	onScreen   bool
	clock      sharedClock
	tty        *os.File
	cmd        *exec.Cmd
	mu         sync.Mutex
	wrote      []byte
	library    *procedures.Library
	records    store.Store
	job        uuid.UUID
	bench      sitting.Bench
	sitting    *sitting.Sitting
	level      string // first read
}

func (w *through) read() {
	buffer := make([]byte, 4096)
	for {
		n, err := w.tty.Read(buffer)
		w.mu.Lock()
		w.wrote = append(w.wrote, buffer[:n]...)
		w.mu.Unlock()
		if err != nil {
			return
		}
	}
}

func (w *through) tail() string {
	w.mu.Lock()
	defer w.mu.Unlock()
	return string(w.wrote[max(0, len(w.wrote)-2500):])
}

// open opens the store that the program writes to, once its job is there.
func (w *through) open(ctx context.Context) error {
	a := &app{env: realEnv()}
	a.env.Getenv = func(name string) string { return map[string]string{"HOME": w.home}[name] }
	a.env.Environ = nil
	a.root = a.newRoot(nil)
	w.clock.set(a)
	for began := time.Now(); time.Since(began) < patience; time.Sleep(100 * time.Millisecond) {
		if _, err := os.Stat(filepath.Join(w.home, "records.db")); err != nil {
			continue
		}
		records, err := store.OpenSQLite(ctx, filepath.Join(w.home, "records.db"))
		if err != nil {
			continue // not laid out yet
		}
		jobs, err := records.Jobs(ctx, store.Query{Limit: 1})
		if err != nil || len(jobs) == 0 {
			records.Close()
			continue
		}
		w.records, w.job = records, jobs[0].Job
		w.bench, err = a.bench(records, w.library, "Tobi Fenn")
		return err
	}
	return fmt.Errorf("no job came:\n%s", w.tail())
}

// stands gives what the record asks now.
func (w *through) stands(ctx context.Context) (checklist.Ask, checklist.Checklist, error) {
	if sum, err := w.records.Get(ctx, w.job); err != nil || w.sitting == nil || sum.Events != w.sitting.Summary.Events {
		if w.sitting, err = w.bench.Read(ctx, w.job); err != nil {
			return checklist.Ask{}, checklist.Checklist{}, err
		}
	}
	return w.sitting.State().Ask(w.bench.Now()), w.sitting.State().List(), nil
}

// types types a line as hands do.
func (w *through) types(text string) error {
	if w.onScreen {
		time.Sleep(160 * time.Millisecond)
		for _, c := range text {
			if _, err := io.WriteString(w.tty, string(c)); err != nil {
				return err
			}
			time.Sleep(25 * time.Millisecond)
		}
		text = ""
	}
	time.Sleep(10 * time.Millisecond)
	_, err := io.WriteString(w.tty, text+"\r")
	return err
}

// walk walks to the end and gives the record.
func (w *through) walk(ctx context.Context) ([]record.Event, error) {
	w.clock = sharedClock{time.Now(), 120}
	w.cmd = exec.CommandContext(ctx, os.Args[0], w.args...)
	w.cmd.Env = append(environ(w.home), asProgram+"="+w.clock.String(), "DAYTANK_OPERATOR=Tobi Fenn", "DAYTANK_STORE="+filepath.Join(w.home, "records.db"))
	var err error
	if w.tty, err = pty.StartWithSize(w.cmd, &pty.Winsize{Rows: 24, Cols: 80}); err != nil {
		return nil, err
	}
	defer w.tty.Close()
	go w.read()
	if err := w.open(ctx); err != nil {
		return nil, err
	}
	defer w.records.Close()
	if w.onScreen { // the opening
		time.Sleep(200 * time.Millisecond)
		if err := w.types(""); err != nil {
			return nil, err
		}
	}
	for {
		ask, list, err := w.stands(ctx)
		if err == nil {
			err = ctx.Err()
		}
		switch {
		case err != nil:
			return nil, fmt.Errorf("stands at %s of %s, %v: %w\n%s", ask.Kind, ask.Step.ID, ask.Run.Part, err, w.tail())
		case ask.Kind == checklist.AskFinished:
			kept, err := w.records.Events(ctx, w.job)
			return kept, errors.Join(err, w.cmd.Wait())
		}
		text, takes := rehearsal.Answer(ask, list)
		switch {
		case ask.Kind == checklist.AskWait && ask.LeftMS > 0:
			time.Sleep(w.clock.real(ask.LeftMS + 1000))
			continue
		case ask.Kind == checklist.AskRun && takes == 0:
			time.Sleep(w.clock.real(max(1000, ask.Run.WakeMS)))
			continue
		case ask.Run.Part == checklist.RunBaseline && ask.Kind == checklist.AskRun:
			w.level = text
		case ask.Run.Part == checklist.RunReading:
			text = w.level // this clock runs too fast to look at a level that falls
		}
		if ask.Kind == checklist.AskRun && w.onScreen { // Space is STOP where no level stands before it
			text = strings.Replace(text, " ", "/", 1)
		}
		if ask.Kind == checklist.AskRun && w.onScreen {
			time.Sleep(200 * time.Millisecond) // until the screen has looked at the clock as well
		}
		if err := w.types(text); err != nil {
			return nil, err
		}
		if !w.taken(ctx) && w.onScreen {
			// An Enter that came just as the question changed did not count: Esc wipes
			// what it has left.
			w.tty.WriteString("\x1b")
			time.Sleep(300 * time.Millisecond)
		}
	}
}

// taken waits until the record has grown, or for as long as an answer may take.
func (w *through) taken(ctx context.Context) bool {
	for range 40 {
		time.Sleep(15 * time.Millisecond)
		if sum, err := w.records.Get(ctx, w.job); err == nil && sum.Events != w.sitting.Summary.Events {
			return true
		}
	}
	return false
}

// Every procedure is walked in a pseudo-terminal, with a job of its layout, on the
// screen and in plain lines, alone and with two people, to "to review". As planned,
// nothing is called out that switches the engine off.
func TestEveryProcedureInATerminal(t *testing.T) {
	library, err := procedures.Shipped()
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithTimeout(t.Context(), 6*time.Minute)
	defer cancel()
	var walks []*through
	for _, onScreen := range []bool{true, false} { // what takes longest begins first
		for layout, job := range jobOf {
			for who, set := range map[string][]string{
				"together": {"run=[{speed: idle, for: 4 min},{soak: 2 min},{speed: idle, for: 2 min}]"}, "alone": alone(layout),
			} {
				if raceDetector && (onScreen || layout != "rotary" || who != "alone") {
					continue // too slow for a clock this fast; every one is walked without it
				}
				w := &through{
					name: fmt.Sprintf("%s %s, screen %t", layout, who, onScreen), home: t.TempDir(), onScreen: onScreen,
					args: []string{"walk", "../../../testdata/jobs/" + job + ".yaml"}, library: library,
				}
				if !onScreen {
					w.args = append(w.args, "--line")
				}
				for _, s := range set {
					w.args = append(w.args, "--set", s)
				}
				walks = append(walks, w)
			}
		}
	}
	records, failures := make([][]record.Event, len(walks)), make([]error, len(walks))
	var all sync.WaitGroup
	turns := make(chan struct{}, sideBySide)
	for i, w := range walks {
		turns <- struct{}{}
		all.Go(func() {
			defer func() { <-turns }()
			records[i], failures[i] = w.walk(ctx)
		})
	}
	all.Wait()
	for i, w := range walks {
		t.Run(w.name, func(t *testing.T) {
			err := errors.Join(failures[i], asPlanned(records[i]))
			if err != nil { // side by side, keys can come as a question changes: once more, alone
				t.Logf("once more, alone, after %v", err)
				w.home, w.sitting, w.wrote = t.TempDir(), nil, nil
				again, failure := w.walk(ctx)
				err = errors.Join(failure, asPlanned(again))
			}
			if err != nil {
				t.Fatal(err)
			}
		})
	}
}

// sideBySide is how many are walked at a time: they wait more than they work, but keys of
// too many come late.
const sideBySide = 12

// asPlanned tells what in a record is not as it is where all goes as planned: it ends ready
// for review, and nothing was called out that switches the engine off. What is mild may be:
// a clock this fast leaves no time to be never late.
func asPlanned(kept []record.Event) error {
	if len(kept) == 0 || kept[len(kept)-1].Kind != record.KindReadyForReview {
		return errors.New("the record does not end ready for review")
	}
	for _, e := range kept {
		if a, err := record.As[record.Alarm](e); err == nil && e.Kind == record.KindAlarm && !a.Mild {
			return fmt.Errorf("alarm %s: %s", a.Name, a.Message)
		}
	}
	return nil
}
