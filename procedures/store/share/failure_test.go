package share

import (
	"bytes"
	"context"
	"errors"
	"os"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"daytank/procedures/record"
	"daytank/procedures/store"
	"daytank/procedures/store/cluster"

	"github.com/google/uuid"
)

// fill has a bay with jobs to send, some of them ready.
func fill(t *testing.T, l Link, n, jobs int) {
	t.Helper()
	for i := 1; i <= jobs; i++ {
		mustAdd(t, l.Kept, jobID(n, i), created("VAN-07", int64(i)), note("a"))
		for range 3 {
			mustAdd(t, l.Kept, jobID(n, i), record.StepDone{Step: "a"})
		}
		if i%2 == 0 {
			mustAdd(t, l.Kept, jobID(n, i), record.ReadyForReview{})
		}
	}
}

// The server is killed in the middle of sending, and walking goes on meanwhile; when it is
// back the rest is sent.
func TestServerKilledWhileSending(t *testing.T) {
	ctx := context.Background()
	const jobs = 12
	o, database := office(t)
	l, _ := bay(t, 1, o)
	fill(t, l, 1, jobs)
	var sending sync.WaitGroup
	var first []Outcome
	sending.Go(func() {
		var err error
		if first, err = l.SendAll(ctx, stamp("Tobi Fenn")); err != nil && !errors.Is(err, store.ErrUnreachable) {
			t.Error(err)
		}
	})
	watching := must[store.Shared](t)(store.OpenPostgres(ctx, shop.Server(t).Address(database, cluster.Screen)))
	for len(must[[]record.Summary](t)(watching.Jobs(ctx, store.Query{}))) < 3 {
		time.Sleep(time.Millisecond)
	}
	watching.Close()
	server := shop.Server(t)
	if err := server.Kill(); err != nil {
		t.Fatal(err)
	}
	mustAdd(t, must[store.Store](t)(HoldingBay(ctx, l.Kept)), jobID(1, 1), note("while the server was away"))
	_, err := l.Send(ctx, jobID(1, 1))
	if !errors.Is(err, store.ErrUnreachable) || store.Hint(err) == "" {
		t.Errorf("sent without a server: %v", err)
	}
	if err := server.Run(ctx, cluster.Fast); err != nil {
		t.Fatal(err)
	}
	sending.Wait()
	second := must[[]Outcome](t)(l.SendAll(ctx, stamp("Tobi Fenn")))
	for _, out := range append(first, second...) {
		if out.Err != nil {
			t.Errorf("%+v", out)
		}
	}
	for i := 1; i <= jobs; i++ {
		wantSame(t, l, jobID(1, i))
		want := Place{}
		if i%2 == 0 {
			want = o.Place
		}
		wantHolder(t, o.Store, jobID(1, i), want)
	}
}

// The network is cut again and again, at another place each time, and comes back: each
// sending gets further, and in the end all is there, each event once.
func TestNetworkCutAndBack(t *testing.T) {
	ctx := t.Context()
	const jobs = 4
	database := shop.Database(t, cluster.Template)
	cable := cluster.Lay(t, shop.Server(t))
	o := officeAt(t, cable.Address(database, cluster.Bay))
	l, _ := bay(t, 1, o)
	fill(t, l, 1, jobs)
	cuts := 0
	for round := 1; ; round++ {
		var seen atomic.Int64
		cable.Watch(10*time.Millisecond, func(bool, []byte) bool { return seen.Add(1) == int64(round*3) })
		outs, err := l.SendAll(ctx, stamp("Tobi Fenn"))
		whole := seen.Load() < int64(round*3)
		if !whole {
			cuts++
		}
		if err != nil && !errors.Is(err, store.ErrUnreachable) {
			t.Fatal(err)
		}
		for _, out := range outs {
			if out.Err != nil {
				t.Errorf("%+v", out)
			}
		}
		if err == nil && whole {
			break
		}
		time.Sleep(20 * time.Millisecond) // mended
	}
	if cuts < 3 {
		t.Errorf("cut %d times", cuts)
	}
	direct := officeAt(t, shop.Server(t).Address(database, cluster.Bay))
	l.Office = direct
	for i := 1; i <= jobs; i++ {
		wantSame(t, l, jobID(1, i))
	}
}

// The reply to the commit of a take-over is lost, for a moment or for long: the job is the
// bay's, once, and the next take-over only fetches it.
func TestLostReplyToATakeOver(t *testing.T) {
	ctx := t.Context()
	o, database := office(t)
	giver, _ := bay(t, 1, o)
	fill(t, giver, 1, 4)
	cable := cluster.Lay(t, shop.Server(t))
	l, _ := bay(t, 2, officeAt(t, cable.Address(database, cluster.Bay)))
	for n, back := range map[int]time.Duration{2: 50 * time.Millisecond, 4: 0} {
		job := jobID(1, n)
		must[Outcome](t)(giver.Release(ctx, job, stamp("Tobi Fenn")))
		cable.Watch(back, func(fromServer bool, data []byte) bool {
			return fromServer && bytes.Contains(data, []byte("COMMIT\x00"))
		})
		patient, cancel := context.WithTimeout(ctx, time.Second)
		out, err := l.TakeOver(patient, job, stamp("Ines Holm"))
		cancel()
		if back > 0 && (err != nil || out.Holder != l.Bay) {
			t.Errorf("back at once: %+v, %v", out, err)
		}
		if back == 0 && (!errors.Is(err, store.ErrUnreachable) || !strings.Contains(err.Error(), "is not known")) {
			t.Errorf("away for long: %v", err)
		}
		cable.Mend()
		must[Outcome](t)(l.TakeOver(ctx, job, stamp("Ines Holm")))
		wantSame(t, l, job)
		wantHolder(t, o.Store, job, l.Bay)
		events := must[[]record.Event](t)(o.Store.Events(ctx, job))
		transfers := 0
		for _, e := range events {
			if e.Kind == record.KindTransferred {
				transfers++
			}
		}
		if transfers != 2 {
			t.Errorf("%d transfers, want 2", transfers)
		}
		mustAdd(t, must[store.Store](t)(HoldingBay(ctx, l.Kept)), job, record.Resumed{})
	}
}

// Bays take over one job at once: one has it, the others are told who.
func TestTwoBaysTakeOverOneJob(t *testing.T) {
	ctx := context.Background()
	o, database := office(t)
	giver, _ := bay(t, 9, o)
	rounds := 6
	if raceDetector {
		rounds = 2
	}
	fill(t, giver, 1, 2*rounds)
	var links [2]Link
	for i := range links {
		links[i], _ = bay(t, i+1, officeAt(t, shop.Server(t).Address(database, cluster.Bay)))
	}
	for n := 2; n <= 2*rounds; n += 2 {
		job := jobID(1, n)
		must[Outcome](t)(giver.Release(ctx, job, stamp("Tobi Fenn")))
		var errs [2]error
		var both sync.WaitGroup
		for i := range links {
			both.Go(func() { _, errs[i] = links[i].TakeOver(ctx, job, stamp("Ines Holm")) })
		}
		both.Wait()
		won := slices.Index(errs[:], nil)
		if won < 0 || errs[1-won] == nil {
			t.Fatalf("who won: %v", errs)
		}
		wantNotHeld(t, "who came second", errs[1-won], links[won].Bay.Name)
		wantSame(t, links[won], job)
		if _, err := links[1-won].Kept.Get(ctx, job); !errors.Is(err, store.ErrUnknown) {
			t.Errorf("who came second has the job: %v", err)
		}
	}
}

// copyOf copies the file of a store that is not written to meanwhile.
func copyOf(t *testing.T, path string) []byte {
	t.Helper()
	return must[[]byte](t)(os.ReadFile(path))
}

// A bay is brought back from last week's backup: what it had sent since comes back to it,
// and nothing that was acknowledged is lost. What it walks on with before that is refused
// as a fork, and both are kept.
func TestBayRestoredFromABackup(t *testing.T) {
	ctx := t.Context()
	o, _ := office(t)
	l, path := bay(t, 1, o)
	other, _ := bay(t, 2, o)
	sent, walkedOn, gone := jobID(1, 1), jobID(1, 2), jobID(1, 3)
	for n, job := range []uuid.UUID{sent, walkedOn, gone} {
		mustAdd(t, l.Kept, job, created("VAN-07", int64(n+1)), record.StepStarted{Step: "a"})
		must[Outcome](t)(l.Send(ctx, job))
	}
	l.Kept.Close()
	backup := copyOf(t, path)

	l = bayAt(t, 1, path, o)
	before := l.Bay
	for _, job := range []uuid.UUID{sent, walkedOn, gone} {
		mustAdd(t, l.Kept, job, record.StepDone{Step: "a"}, note("after the backup"))
		must[Outcome](t)(l.Send(ctx, job))
	}
	mustAdd(t, l.Kept, jobID(1, 4), created("VAN-07", 4)) // begun after the backup
	must[Outcome](t)(l.Release(ctx, jobID(1, 4), stamp("Tobi Fenn")))
	must[Outcome](t)(l.Release(ctx, gone, stamp("Tobi Fenn")))
	must[Outcome](t)(other.TakeOver(ctx, gone, stamp("Ines Holm")))
	mustAdd(t, other.Kept, gone, record.Resumed{})
	must[Outcome](t)(other.Send(ctx, gone))
	l.Kept.Close()

	for _, part := range []string{"", "-wal", "-shm"} {
		os.Remove(path + part)
	}
	if err := os.WriteFile(path, backup, 0o600); err != nil {
		t.Fatal(err)
	}
	l = bayAt(t, 1, path, o)
	if l.Bay != before {
		t.Errorf("the bay is %v, was %v", l.Bay, before)
	}
	here := must[store.Store](t)(HoldingBay(ctx, l.Kept))
	mustAdd(t, here, walkedOn, note("walked on without knowing")) // nobody can know yet
	forked := must[[]record.Event](t)(l.Kept.Events(ctx, walkedOn))

	s := must[Status](t)(l.Status(ctx))
	if len(s.Behind) != 2 || len(s.Forked) != 1 || s.Forked[0].Job != walkedOn || len(s.Unsent) != 0 {
		t.Errorf("%+v", s)
	}
	for _, out := range must[[]Outcome](t)(l.SendAll(ctx, stamp("Tobi Fenn"))) {
		var fork *Fork
		switch isFork := errors.As(out.Err, &fork); {
		case out.Job == walkedOn:
			if !isFork || fork.Seq != 4 || fork.Here != 5 || fork.There != 6 || !strings.Contains(out.Err.Error(), "backup") || out.Name != "VAN-07/2" {
				t.Errorf("the fork: %+v", out)
			}
		case out.Err != nil || !out.Restored || out.Fetched == 0:
			t.Errorf("%+v", out)
		}
	}
	wantSame(t, l, sent)
	wantSame(t, l, gone)
	mustAdd(t, here, sent, note("and on"))
	wantNotHeld(t, "a job that went on elsewhere", add(t, here, gone, note("x")), "bay 2")
	if got := must[[]record.Event](t)(l.Kept.Events(ctx, walkedOn)); len(got) != len(forked) {
		t.Errorf("the fork here has %d events, had %d", len(got), len(forked))
	}
	if got := must[[]record.Event](t)(o.Store.Events(ctx, walkedOn)); len(got) != 6 {
		t.Errorf("the fork there has %d events, had 6", len(got))
	}
	// The job begun after the backup is the office's now, and can be taken over.
	must[Outcome](t)(l.TakeOver(ctx, jobID(1, 4), stamp("Tobi Fenn")))
	wantSame(t, l, jobID(1, 4))
}

// A bay is cut off between its last event and the office's hearing of it: the job is on its
// way, nobody appends, and the next sending brings it there.
func TestCutOffWhileReleasing(t *testing.T) {
	ctx := t.Context()
	database := shop.Database(t, cluster.Template)
	cable := cluster.Lay(t, shop.Server(t))
	l, _ := bay(t, 1, officeAt(t, cable.Address(database, cluster.Bay)))
	direct := officeAt(t, shop.Server(t).Address(database, cluster.Bay))
	job := jobID(1, 1)
	mustAdd(t, l.Kept, job, created("VAN-07", 1), record.ReadyForReview{})
	must[Outcome](t)(l.Send(ctx, job))
	cable.Watch(0, func(fromServer bool, data []byte) bool { return !fromServer && bytes.Contains(data, []byte("append(")) })
	_, err := l.Release(ctx, job, stamp("Tobi Fenn"))
	if !errors.Is(err, store.ErrUnreachable) {
		t.Errorf("got %v", err)
	}
	cable.Mend()
	wantNotHeld(t, "at the bay", add(t, must[store.Store](t)(HoldingBay(ctx, l.Kept)), job, note("x")), "office")
	wantNotHeld(t, "at the office", add(t, HoldingOffice(direct), job, note("x")), "the bay that began it")
	must[Outcome](t)(l.Send(ctx, job))
	wantSame(t, l, job)
	mustAdd(t, HoldingOffice(direct), job, record.Signed{Which: record.SignOffWork, Verdict: "fit"})
}

// A chain that does not verify is not sent, and holds nothing else up.
func TestDamagedChainIsNotSent(t *testing.T) {
	ctx := t.Context()
	o, _ := office(t)
	l, _ := bay(t, 1, o)
	mustAdd(t, l.Kept, jobID(1, 1), created("VAN-07", 1))
	mustAdd(t, l.Kept, jobID(1, 2), created("VAN-07", 2))
	l.Kept = damaged{l.Kept, jobID(1, 1)}
	outs := must[[]Outcome](t)(l.SendAll(ctx, stamp("Tobi Fenn")))
	if len(outs) != 2 {
		t.Fatalf("%+v", outs)
	}
	var damage *record.Damage
	for _, out := range outs {
		if (out.Job == jobID(1, 1)) != errors.As(out.Err, &damage) {
			t.Errorf("%+v", out)
		}
	}
	if _, err := o.Store.Get(ctx, jobID(1, 1)); !errors.Is(err, store.ErrUnknown) {
		t.Errorf("got %v", err)
	}
}

// damaged is a store of which one job's chain does not link up.
type damaged struct {
	store.Store
	job uuid.UUID
}

func (d damaged) Events(ctx context.Context, job uuid.UUID) ([]record.Event, error) {
	events, err := d.Store.Events(ctx, job)
	if job == d.job && err == nil {
		events[1].Prev = record.Hash{1}
	}
	return events, err
}

// A login that may only read, at a screen, sends nothing, and is told so at once.
func TestSendingByALoginThatOnlyReads(t *testing.T) {
	database := shop.Database(t, cluster.Template)
	l, _ := bay(t, 1, officeAt(t, shop.Server(t).Address(database, cluster.Screen)))
	mustAdd(t, l.Kept, jobID(1, 1), created("VAN-07", 1))
	outs, err := l.SendAll(t.Context(), stamp("Tobi Fenn"))
	if !errors.Is(err, store.ErrReadOnly) || len(outs) != 0 || store.Hint(err) == "" {
		t.Errorf("got %+v, %v", outs, err)
	}
}

// Another job of the bay has the number of one that it wants: it is told before it takes it.
func TestTakeOverOfANumberTaken(t *testing.T) {
	ctx := t.Context()
	o, _ := office(t)
	giver, _ := bay(t, 1, o)
	l, _ := bay(t, 2, o)
	mustAdd(t, giver.Kept, jobID(1, 1), created("VAN-07", 1), record.ReadyForReview{})
	must[Outcome](t)(giver.Release(ctx, jobID(1, 1), stamp("Tobi Fenn")))
	mustAdd(t, l.Kept, jobID(2, 1), created("VAN-07", 1))
	_, err := l.TakeOver(ctx, jobID(1, 1), stamp("Ines Holm"))
	if !errors.Is(err, store.ErrNumberTaken) || !strings.Contains(err.Error(), "VAN-07/1") {
		t.Errorf("got %v", err)
	}
	wantHolder(t, o.Store, jobID(1, 1), o.Place)
}

func TestNamesAndIdentities(t *testing.T) {
	o, _ := office(t)
	l, _ := bay(t, 1, o)
	for _, name := range []string{"", strings.Repeat("x", 201)} {
		if _, err := Join(t.Context(), l.Kept, name, o); err == nil {
			t.Errorf("%q is a name", name)
		}
	}
	if _, err := Join(t.Context(), o.Store, "bay 1", o); err == nil {
		t.Error("the office is its own bay")
	}
}
