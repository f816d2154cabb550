package store

import (
	"bufio"
	"context"
	"fmt"
	"os"
	"os/exec"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"daytank/procedures/record"
)

const (
	childFile = "DAYTANK_TEST_APPEND_TO"
	childJob  = "DAYTANK_TEST_JOB"
)

// TestMain is also the program that is killed: it appends to the file for as
// long as it lives, and says of each append that it was acknowledged.
func TestMain(m *testing.M) {
	if path := os.Getenv(childFile); path != "" {
		n, _ := strconv.Atoi(os.Getenv(childJob))
		fmt.Println("stopped:", appendForever(path, n))
		os.Exit(1)
	}
	code := m.Run()
	shop.Close()
	os.Exit(code)
}

func appendForever(path string, n int) error {
	job := jobID(n)
	s, err := OpenSQLite(context.Background(), path)
	if err != nil {
		return err
	}
	head := record.Genesis(job)
	next := []record.Body{created("VAN-07", int64(n))}
	if now, err := s.Get(context.Background(), job); err == nil {
		head = record.Head{Job: now.Job, Seq: now.Events, Hash: now.Head}
		next = nil
	}
	for {
		picture := record.Blob(fmt.Sprintf("picture %d", head.Seq))
		bodies := append(next, record.Photo{Step: "a", File: "a.jpg", Blob: picture.Digest()}, record.Note{Text: "b"})
		events, after, err := record.Seal(head, stampAt(morning, "Tobi Fenn"), bodies...)
		if err != nil {
			return err
		}
		if err := s.Append(context.Background(), head, events, picture); err != nil {
			return err
		}
		head, next = after, nil
		fmt.Println("kept", head.Seq)
	}
}

// A program is killed again and again, at first while it makes the file: what it
// was told is kept is there, and what is there is whole.
func TestKilledProgramLosesNothingAcknowledged(t *testing.T) {
	path := temporaryPath(t)
	acknowledged := int64(0)
	for round := range 16 {
		patience := time.Duration(round%8) * 3 * time.Millisecond
		kept, stopped := appendUntilKilled(t, path, 1, max(0, round-7), patience)
		if stopped != "" {
			t.Fatalf("round %d: the program %s", round, stopped)
		}
		acknowledged = max(acknowledged, kept)
		s, err := OpenSQLite(t.Context(), path)
		if err != nil {
			t.Fatalf("round %d: %v", round, err)
		}
		checkSurvivors(t, s, 1, acknowledged)
		if err := s.Close(); err != nil {
			t.Fatal(err)
		}
	}
	if acknowledged == 0 {
		t.Error("no round got as far as an append")
	}
}

// Two programs make one file and append to one job: none of them loses what was
// acknowledged, and the one that comes second is told.
func TestTwoProgramsOnOneJob(t *testing.T) {
	path := temporaryPath(t)
	var acknowledged [2]int64
	var stopped [2]string
	var programs sync.WaitGroup
	for i := range acknowledged {
		programs.Go(func() { acknowledged[i], stopped[i] = appendUntilKilled(t, path, 1, 30, 0) })
	}
	programs.Wait()
	for _, words := range stopped {
		if words != "" && !strings.Contains(words, ErrMoved.Error()) {
			t.Errorf("a program %s", words)
		}
	}
	checkSurvivors(t, openTemporary(t, path), 1, max(acknowledged[0], acknowledged[1]))
}

// Four programs append to four jobs of one file at once, and are killed: each has
// everything that it was told was kept.
func TestFourProgramsOnFourJobs(t *testing.T) {
	path := temporaryPath(t)
	var acknowledged [4]int64
	var programs sync.WaitGroup
	for i := range acknowledged {
		programs.Go(func() {
			var stopped string
			if acknowledged[i], stopped = appendUntilKilled(t, path, i+1, 40, 0); stopped != "" {
				t.Errorf("program %d %s", i+1, stopped)
			}
		})
	}
	programs.Wait()
	s := openTemporary(t, path)
	for i, n := range acknowledged {
		if n < 80 {
			t.Errorf("program %d has kept %d events", i+1, n)
		}
		checkSurvivors(t, s, i+1, n)
	}
}

// appendUntilKilled gives the last event that the program said was kept, and
// why it stopped if it did so by itself. It is killed a while after it has said
// so for so many appends.
func appendUntilKilled(t *testing.T, path string, job, appends int, after time.Duration) (last int64, stopped string) {
	program := exec.Command(os.Args[0])
	program.Env = append(os.Environ(), childFile+"="+path, fmt.Sprintf("%s=%d", childJob, job))
	output, err := program.StdoutPipe()
	if err != nil {
		return 0, err.Error()
	}
	if err := program.Start(); err != nil {
		return 0, err.Error()
	}
	defer program.Wait() // it is killed; its state says nothing
	for lines := bufio.NewScanner(output); ; appends-- {
		if appends == 0 {
			defer time.AfterFunc(after, func() { program.Process.Kill() }).Stop()
		}
		if !lines.Scan() {
			return last, stopped
		}
		number, kept := strings.CutPrefix(lines.Text(), "kept ")
		if !kept {
			stopped += lines.Text()
			continue
		}
		if last, err = strconv.ParseInt(number, 10, 64); err != nil {
			t.Error(err)
		}
	}
}

func checkSurvivors(t *testing.T, s Store, job int, acknowledged int64) {
	t.Helper()
	events, err := s.Events(t.Context(), jobID(job))
	if err != nil && acknowledged == 0 {
		wantError(t, "a job that was not begun", err, ErrUnknown)
		return
	}
	if err != nil {
		t.Fatal(err)
	}
	if int64(len(events)) < acknowledged {
		t.Errorf("%d events are there, %d were acknowledged", len(events), acknowledged)
	}
	// Each append has one note, at its end: none was kept in part.
	if last := events[len(events)-1].Kind; last != record.KindNote {
		t.Errorf("the last event is %s: an append was kept in part", last)
	}
	blob := func(h record.Hash) ([]byte, error) { return s.Blob(t.Context(), h) }
	if err := record.Verify(jobID(job), events, blob); err != nil {
		t.Error(err)
	}
}
