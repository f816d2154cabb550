package sitting

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"daytank/planner"
	"daytank/procedures"
	"daytank/procedures/checklist"
	"daytank/procedures/checklist/rehearsal"
	"daytank/procedures/record"
	"daytank/procedures/store"

	"github.com/google/uuid"
)

const childRecords = "DAYTANK_TEST_WALK_IN"

// TestMain is also the program that is killed: it walks the demo van as planned,
// and says of each answer that it was kept.
func TestMain(m *testing.M) {
	if path := os.Getenv(childRecords); path != "" {
		fmt.Println("stopped:", walkForever(path))
		os.Exit(1)
	}
	os.Exit(m.Run())
}

var errFinished = errors.New("the sitting is done")

func walkForever(path string) error {
	ctx := context.Background()
	kept, err := store.OpenSQLite(ctx, path)
	if err != nil {
		return err
	}
	s, c, err := takeUp(ctx, kept)
	if err != nil {
		return err
	}
	for {
		ask, err := s.Ask(ctx)
		if err != nil {
			return err
		}
		if ask.Kind == checklist.AskFinished {
			return errFinished
		}
		text, takes := rehearsal.Answer(ask, s.State().List())
		if ask.Kind == checklist.AskRun && takes == 0 {
			takes = time.Duration(max(1000, ask.Run.WakeMS)) * time.Millisecond
			c.pass(takes)
			continue
		}
		c.pass(takes)
		if err := s.Answer(ctx, checklist.Input{Do: checklist.Enter, Text: text}); err != nil {
			return err
		}
		fmt.Println("kept", s.Summary.Events)
	}
}

// takeUp begins the walk, or goes on with it, a second after it was left.
func takeUp(ctx context.Context, kept store.Store) (*Sitting, *clock, error) {
	library, err := procedures.Shipped()
	if err != nil {
		return nil, nil, err
	}
	c := &clock{at: time.Date(2026, 3, 14, 9, 0, 0, 0, time.UTC)}
	process := uuid.New()
	b := Bench{
		Store: kept, Procedures: library, EmergencyNumber: "112", Program: "test", NewID: uuid.NewV7,
		Now: func() record.Stamp {
			return record.Stamp{At: c.at, MonoMS: c.mono.Milliseconds(), Run: process, By: "Tobi Fenn"}
		},
	}
	jobs, err := kept.Jobs(ctx, store.Query{})
	if err != nil {
		return nil, nil, err
	}
	if len(jobs) > 0 {
		c.at = jobs[0].Updated.Add(time.Second)
		s, err := b.Resume(ctx, jobs[0].Job)
		return s, c, err
	}
	text, err := os.ReadFile("../../../testdata/jobs/van.yaml")
	if err != nil {
		return nil, nil, err
	}
	job, err := planner.ReadJob("van.yaml", text, library.Engines(), planner.Date{Year: 2026, Month: 3, Day: 14})
	if err != nil {
		return nil, nil, err
	}
	planned, err := b.Prepare(job)
	if err != nil {
		return nil, nil, err
	}
	s, err := b.Begin(ctx, planned)
	return s, c, err
}

// The walk is killed at 500 moments, from when the program begins to make the file
// to the end of the sitting: no answer that was acknowledged is lost, the record
// is whole, and the walk goes on from there.
func TestWalkIsKilledAnywhere(t *testing.T) {
	rounds := 500
	if raceDetector {
		rounds = 40
	}
	random := rand.New(rand.NewPCG(1, 2))
	path, acknowledged := filepath.Join(t.TempDir(), "records.db"), int64(0)
	finished, answers := 0, 0
	for round := range rounds {
		after := time.Duration(random.IntN(30_000)) * time.Microsecond
		before := acknowledged
		kept, done := walkUntilKilled(t, path, random.IntN(4), after)
		acknowledged = max(acknowledged, kept)
		if !t.Run(fmt.Sprintf("round %d", round), func(t *testing.T) { checkWalk(t, path, acknowledged) }) {
			return
		}
		if acknowledged > before {
			answers++
		}
		if done {
			finished++
			path, acknowledged = filepath.Join(t.TempDir(), "records.db"), 0
		}
	}
	t.Logf("%d rounds, %d of them with answers kept, %d sittings done", rounds, answers, finished)
	if answers < rounds/4 {
		t.Errorf("in %d of %d rounds an answer was kept", answers, rounds)
	}
}

// walkUntilKilled runs the program and kills it a while after it has said of so
// many answers that they were kept. It gives the last of them.
func walkUntilKilled(t *testing.T, path string, answers int, after time.Duration) (last int64, done bool) {
	t.Helper()
	program := exec.Command(os.Args[0])
	program.Env = []string{childRecords + "=" + path, "GORACE=atexit_sleep_ms=0"} // end at once under the race detector
	output, err := program.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := program.Start(); err != nil {
		t.Fatal(err)
	}
	defer program.Wait() // it is killed; its state says nothing
	var stopped []string
	lines := bufio.NewScanner(output)
	for ; ; answers-- {
		if answers == 0 {
			defer time.AfterFunc(after, func() { program.Process.Kill() }).Stop()
		}
		if !lines.Scan() {
			break
		}
		number, kept := strings.CutPrefix(lines.Text(), "kept ")
		if !kept {
			stopped = append(stopped, lines.Text())
			continue
		}
		if last, err = strconv.ParseInt(number, 10, 64); err != nil {
			t.Fatal(err)
		}
	}
	said := strings.Join(stopped, " ")
	if said != "" && !strings.Contains(said, errFinished.Error()) {
		t.Errorf("the program %s", said)
	}
	return last, said != ""
}

// checkWalk holds that what was acknowledged is there, whole, and that the walk
// can be taken up.
func checkWalk(t *testing.T, path string, acknowledged int64) {
	kept, err := store.OpenSQLite(t.Context(), path)
	if err != nil {
		t.Fatal(err)
	}
	defer kept.Close()
	jobs, err := kept.Jobs(t.Context(), store.Query{})
	if err != nil {
		t.Fatal(err)
	}
	if len(jobs) == 0 {
		if acknowledged > 0 {
			t.Errorf("%d events were acknowledged, and there is no job", acknowledged)
		}
		return
	}
	events, err := kept.Events(t.Context(), jobs[0].Job)
	if err != nil {
		t.Fatal(err)
	}
	if int64(len(events)) < acknowledged {
		t.Errorf("%d events are there, %d were acknowledged", len(events), acknowledged)
	}
	if err := record.Verify(jobs[0].Job, events, func(h record.Hash) ([]byte, error) { return kept.Blob(t.Context(), h) }); err != nil {
		t.Error(err)
	}
	s, err := newBench(t, kept, "Tobi Fenn", &clock{at: jobs[0].Updated}).Read(t.Context(), jobs[0].Job)
	if err != nil {
		t.Fatal(err)
	}
	if ask := s.State().Ask(record.Stamp{At: jobs[0].Updated}); ask.Kind == "" {
		t.Error("nothing is asked")
	}
}
