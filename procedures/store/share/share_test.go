package share

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"daytank/procedures/record"
	"daytank/procedures/store"
	"daytank/procedures/store/cluster"

	"github.com/google/go-cmp/cmp"
	"github.com/google/uuid"
)

var shop = cluster.Shop{SetUp: store.SetUpPostgres}

func TestMain(m *testing.M) {
	code := m.Run()
	shop.Close()
	os.Exit(code)
}

var morning = time.Date(2026, 3, 14, 9, 0, 0, 0, time.UTC)

func stamp(by string) record.Stamp {
	return record.Stamp{At: morning, MonoMS: 1, Run: jobID(0, 1), By: by}
}

// jobID gives distinct ids of the jobs of a bay.
func jobID(bay, n int) uuid.UUID {
	return uuid.MustParse(fmt.Sprintf("018f3a5c-7d20-7000-8%03x-%012x", bay, n))
}

func must[T any](t testing.TB) func(v T, err error) T {
	return func(v T, err error) T {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}

// office opens the shared store of a database of the test's own.
func office(t *testing.T) (o Office, database string) {
	t.Helper()
	database = shop.Database(t, cluster.Template)
	return officeAt(t, shop.Server(t).Address(database, cluster.Bay)), database
}

func officeAt(t *testing.T, address string) Office {
	t.Helper()
	s := must[store.Shared](t)(store.OpenPostgres(t.Context(), address))
	t.Cleanup(func() { s.Close() })
	return must[Office](t)(OpenOffice(t.Context(), s, "office"))
}

// bay makes a bay with a file of its own, linked with the office.
func bay(t *testing.T, n int, o Office) (l Link, path string) {
	t.Helper()
	path = filepath.Join(t.TempDir(), "records.db")
	return bayAt(t, n, path, o), path
}

func bayAt(t *testing.T, n int, path string, o Office) Link {
	t.Helper()
	kept := must[store.Store](t)(store.OpenSQLite(t.Context(), path))
	t.Cleanup(func() { kept.Close() })
	return must[Link](t)(Join(t.Context(), kept, fmt.Sprintf("bay %d", n), o))
}

// add appends bodies to a job the way a walk does.
func add(t testing.TB, kept store.Store, job uuid.UUID, bodies ...record.Body) error {
	t.Helper()
	ctx := context.Background()
	head := record.Genesis(job)
	if now, err := kept.Get(ctx, job); err == nil {
		head = record.Head{Job: job, Seq: now.Events, Hash: now.Head}
	}
	blob := record.Blob(fmt.Sprintf("picture %d of %s", head.Seq, job))
	bodies = append(bodies, record.Photo{Step: "a", File: "a.jpg", Blob: blob.Digest()})
	events, _, err := record.Seal(head, stamp("Tobi Fenn"), bodies...)
	if err != nil {
		t.Fatal(err)
	}
	return kept.Append(ctx, head, events, blob)
}

func mustAdd(t testing.TB, kept store.Store, job uuid.UUID, bodies ...record.Body) {
	t.Helper()
	if err := add(t, kept, job, bodies...); err != nil {
		t.Fatal(err)
	}
}

func created(asset string, number int64) record.Created {
	return record.Created{Asset: asset, Number: number, Title: asset, Procedure: "rail-pumped"}
}

func note(text string) record.Note { return record.Note{Text: text} }

// wantSame holds that both stores have the job, whole and with its blobs, to the same event.
func wantSame(t testing.TB, l Link, job uuid.UUID) {
	t.Helper()
	var heads [2]record.Hash
	for i, s := range []store.Store{l.Kept, l.Office.Store} {
		events, err := s.Events(context.Background(), job)
		if err != nil {
			t.Errorf("%s: %v", job, err)
			return
		}
		if err := record.Verify(job, events, func(h record.Hash) ([]byte, error) { return s.Blob(context.Background(), h) }); err != nil {
			t.Errorf("%s: %v", job, err)
		}
		heads[i] = events[len(events)-1].Hash
	}
	if heads[0] != heads[1] {
		t.Errorf("%s: the copies differ", job)
	}
}

func wantHolder(t testing.TB, s store.Store, job uuid.UUID, want Place) {
	t.Helper()
	events, err := s.Events(context.Background(), job)
	if err != nil {
		t.Fatal(err)
	}
	if got, err := HolderOf(events); err != nil || got != want {
		t.Errorf("held by %v, %v; want %v", got, err, want)
	}
}

func wantNotHeld(t testing.TB, what string, err error, by string) {
	t.Helper()
	var held *NotHeld
	if !errors.As(err, &held) || !errors.Is(err, store.ErrNotHeld) || held.By.Words() != by || !strings.Contains(err.Error(), by) {
		t.Errorf("%s: got %v, want that %s holds it", what, err, by)
	}
}

// A job goes to the office for review, back to its bay, and to the office again.
func TestOneJobThereAndBack(t *testing.T) {
	ctx := t.Context()
	o, _ := office(t)
	l, _ := bay(t, 1, o)
	other, _ := bay(t, 2, o)
	job := jobID(1, 1)
	here, desk := must[store.Store](t)(HoldingBay(ctx, l.Kept)), HoldingOffice(o)

	mustAdd(t, here, job, created("VAN-07", 1), record.StepStarted{Step: "a"})
	out := must[Outcome](t)(l.Send(ctx, job))
	if diff := cmp.Diff(Outcome{Job: job, Name: "VAN-07/1", Sent: 3}, out); diff != "" {
		t.Error(diff)
	}
	wantSame(t, l, job)
	wantNotHeld(t, "a review too early", add(t, desk, job, note("early")), "the bay that began it")
	_, err := other.TakeOver(ctx, job, stamp("Ines Holm"))
	wantNotHeld(t, "taken over while it is walked", err, "the bay that began it")
	_, err = o.HandBack(ctx, job, stamp("Mara Quill"))
	wantNotHeld(t, "handed back too early", err, "the bay that began it")

	mustAdd(t, here, job, record.StepDone{Step: "a"}, record.ReadyForReview{})
	out = must[Outcome](t)(l.Release(ctx, job, stamp("Tobi Fenn")))
	if out.Sent != 4 || out.Holder != o.Place {
		t.Errorf("released: %+v", out)
	}
	if again := must[Outcome](t)(l.Release(ctx, job, stamp("Tobi Fenn"))); again.Sent != 0 || again.Holder != o.Place {
		t.Errorf("released again: %+v", again)
	}
	wantNotHeld(t, "walked on after it was released", add(t, here, job, note("late")), "office")

	mustAdd(t, desk, job, record.SentBack{Which: record.SignOffWork, Remarks: []record.Remark{{Text: "no photo"}}})
	if to := must[Place](t)(o.HandBack(ctx, job, stamp("Mara Quill"))); to != l.Bay {
		t.Errorf("handed back to %v", to)
	}
	wantNotHeld(t, "reviewed on", add(t, desk, job, note("late")), "bay 1")
	_, err = other.TakeOver(ctx, job, stamp("Ines Holm"))
	wantNotHeld(t, "taken over by another", err, "bay 1")

	// The bay asks what there is for it.
	outs := must[[]Outcome](t)(l.SendAll(ctx, stamp("Tobi Fenn")))
	if len(outs) != 1 || outs[0].Fetched != 3 || outs[0].Restored || outs[0].Holder != l.Bay || outs[0].Err != nil {
		t.Errorf("%+v", outs)
	}
	mustAdd(t, here, job, record.Explained{Text: "there it is"}, record.ReadyForReview{})
	outs = must[[]Outcome](t)(l.SendAll(ctx, stamp("Tobi Fenn"))) // releases what is ready
	if len(outs) != 1 || outs[0].Sent != 4 || outs[0].Holder != o.Place {
		t.Errorf("%+v", outs)
	}
	mustAdd(t, desk, job, record.Signed{Which: record.SignOffWork, Verdict: "fit"})
	must[[]Outcome](t)(l.SendAll(ctx, stamp("Tobi Fenn")))
	wantSame(t, l, job)
	if s := must[Status](t)(l.Status(ctx)); s.Same != 1 || len(s.Unsent)+len(s.Behind)+len(s.Forked)+len(s.Coming)+len(s.Free) != 0 {
		t.Errorf("%+v", s)
	}
}

// What a status says of each job.
func TestStatus(t *testing.T) {
	ctx := t.Context()
	o, _ := office(t)
	l, _ := bay(t, 1, o)
	other, _ := bay(t, 2, o)
	for n := 1; n <= 5; n++ {
		mustAdd(t, l.Kept, jobID(1, n), created("VAN-07", int64(n)), record.ReadyForReview{})
	}
	for n := 2; n <= 4; n++ {
		must[Outcome](t)(l.Send(ctx, jobID(1, n)))
	}
	mustAdd(t, l.Kept, jobID(1, 2), note("more here"))
	must[Outcome](t)(l.Release(ctx, jobID(1, 3), stamp("Tobi Fenn")))
	mustAdd(t, o.Store, jobID(1, 3), record.SentBack{Which: record.SignOffWork})
	mustAdd(t, other.Kept, jobID(2, 1), created("BOAT-11", 1), record.ReadyForReview{})
	must[Outcome](t)(other.Release(ctx, jobID(2, 1), stamp("Ines Holm")))
	head := headOf(jobID(2, 1), must[[]record.Event](t)(o.Store.Events(ctx, jobID(2, 1))))
	sealed, _, err := record.Seal(head, stamp("Mara Quill"), transferred(o.Place, l.Bay))
	if err := errors.Join(err, o.Store.Append(ctx, head, sealed)); err != nil {
		t.Fatal(err)
	}
	s := must[Status](t)(l.Status(ctx))
	type sorted struct {
		Same                         int
		Unsent, Behind, Coming, Free []int64
	}
	got := sorted{Same: s.Same}
	for _, r := range s.Unsent {
		got.Unsent = append(got.Unsent, r.Number*10+r.There)
	}
	for _, r := range s.Behind {
		got.Behind = append(got.Behind, r.Number*10+r.There)
	}
	for _, r := range s.Coming {
		got.Coming = append(got.Coming, r.Number)
	}
	for _, r := range s.Free {
		got.Free = append(got.Free, r.Number)
	}
	if diff := cmp.Diff(sorted{1, []int64{50, 23, 10}, []int64{36}, []int64{1}, []int64{3}}, got); diff != "" {
		t.Error(diff)
	}
}

// Eight bays send at once what each has, numbers of assets given twice among it: nothing is
// lost, nothing has forked, all verify.
func TestEightBaysAtOnce(t *testing.T) {
	const bays = 8
	jobs := 50
	if raceDetector {
		jobs = 5
	}
	o, database := office(t)
	links := make([]Link, bays)
	var all sync.WaitGroup
	for i := range links {
		links[i], _ = bay(t, i, officeAt(t, shop.Server(t).Address(database, cluster.Bay)))
		all.Go(func() {
			for n := 1; n <= jobs; n++ {
				if err := add(t, links[i].Kept, jobID(i, n), created(fmt.Sprintf("VAN-%02d", n%10), int64(n)), record.StepStarted{Step: "a"}, record.StepDone{Step: "a"}, record.ReadyForReview{}); err != nil {
					t.Error(err)
				}
			}
		})
	}
	all.Wait()
	start := time.Now()
	for i := range links {
		all.Go(func() {
			outs, err := links[i].SendAll(context.Background(), stamp("Tobi Fenn"))
			if err != nil || len(outs) != jobs {
				t.Errorf("bay %d: %d jobs, %v", i, len(outs), err)
			}
			for _, out := range outs {
				if out.Err != nil || out.Sent != 6 || out.Holder != o.Place {
					t.Errorf("bay %d: %+v", i, out)
				}
			}
		})
	}
	all.Wait()
	t.Logf("%d bays sent %d jobs each in %s", bays, jobs, time.Since(start).Round(time.Millisecond))
	if rows := must[[]record.Summary](t)(o.Store.Jobs(t.Context(), store.Query{})); len(rows) != bays*jobs {
		t.Errorf("the office has %d jobs, want %d", len(rows), bays*jobs)
	}
	for i := range links {
		for n := 1; n <= jobs; n++ {
			wantSame(t, links[i], jobID(i, n))
		}
	}
	if _, err := o.Store.Find(t.Context(), "VAN-01", 1); !errors.Is(err, store.ErrAmbiguous) {
		t.Errorf("a number that eight bays gave: %v", err)
	}
}
