package desk

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"

	"daytank/procedures/record"
	"daytank/procedures/store"
)

// A queue of 200 jobs, each a whole walk of some 220 events with what it rests on, is on
// the screen in under 150 ms.
func TestQueueOf200(t *testing.T) {
	f, err := os.Open("../../../testdata/records/van.jsonl")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	x, err := record.ReadExport(f)
	if err != nil {
		t.Fatal(err)
	}
	kept, err := store.OpenSQLite(t.Context(), filepath.Join(t.TempDir(), "records.db"))
	if err != nil {
		t.Fatal(err)
	}
	defer kept.Close()
	jobs := 200
	if raceDetector { // which is slow
		jobs = perPage
	}
	for n := range jobs {
		id := uuid.NewSHA1(uuid.NameSpaceOID, []byte{byte(n)})
		head := record.Genesis(id)
		var events []record.Event
		for _, e := range x.Events {
			body, err := e.Decode()
			if err != nil {
				t.Fatal(err)
			}
			if c, is := body.(record.Created); is {
				c.Number = int64(n + 1)
				body = c
			}
			sealed, next, err := record.Seal(head, record.Stamp{At: e.At.Add(time.Duration(n) * time.Hour), MonoMS: e.MonoMS, Run: e.Run, By: e.By}, body)
			if err != nil {
				t.Fatal(err)
			}
			events, head = append(events, sealed...), next
		}
		if err := kept.Append(t.Context(), record.Genesis(id), events, x.Blobs...); err != nil {
			t.Fatal(err)
		}
	}
	s := &shop{t: t, kept: kept, at: time.Date(2026, 6, 1, 8, 0, 0, 0, time.UTC)}
	least := time.Hour
	// Other work on the machine can only make it longer, so a bad one is measured again.
	const quick = 150 * time.Millisecond
	for tries := 0; tries < 5 || least > quick && tries < 300 && !raceDetector; tries++ {
		began := time.Now()
		face := &played{typed: []string{"q"}}
		if err := New(Config{Bench: s.bench("Ines Holm"), Name: "Ines Holm", Zone: time.UTC}, face).Run(t.Context(), nil); err != nil {
			t.Fatal(err)
		}
		least = min(least, time.Since(began))
		if strings.Count(face.said.String(), "VAN-07/") != perPage {
			t.Fatalf("%s", face.said.String())
		}
	}
	t.Logf("a queue of %d jobs in %v", jobs, least)
	if least > quick && !raceDetector {
		t.Errorf("a queue of %d jobs in %v", jobs, least)
	}
}

// In the list and in a job ? says what the letters do, each that is there and no other, and
// no line of the list is wider than a terminal.
func TestHelpAtTheDesk(t *testing.T) {
	s := newShop(t)
	s.walk(nil)
	face := &played{typed: []string{"?", "1", "?", "q"}}
	if err := New(Config{Bench: s.bench("Ines Holm"), Name: "Ines Holm", Zone: time.UTC}, face).Run(t.Context(), nil); err != nil {
		t.Fatal(err)
	}
	said := face.said.String()
	for _, want := range append([]string{"s sign, ", "s signs the work or the result"}, queueHelp...) {
		if !strings.Contains(said, want) {
			t.Errorf("it does not say %q:\n%s", want, said)
		}
	}
	if strings.Contains(said, "h gives the job to the review") {
		t.Error("it explains a letter that is not there")
	}
	for line := range strings.Lines(said) {
		if strings.Contains(line, "VAN-07/1 ") && len(line) > 80 {
			t.Errorf("%d columns: %s", len(line), line)
		}
	}
}
