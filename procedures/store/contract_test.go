package store

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"daytank/procedures/record"
	"daytank/procedures/store/cluster"

	"github.com/google/go-cmp/cmp"
	"github.com/google/uuid"
)

// contract has what every store promises; each entry gets a store of its own.
var contract = map[string]func(*testing.T, Store){
	"events come back as appended":            eventsComeBack,
	"a moved head keeps nothing":              movedHeadKeepsNothing,
	"a job begins once":                       jobBeginsOnce,
	"a number is given once":                  numberGivenOnce,
	"an unknown job":                          unknownJobIsSaid,
	"unsound events are refused":              unsoundEventsRefused,
	"blobs are kept by content":               blobsKeptByContent,
	"a named blob must be there":              namedBlobMustBeThere,
	"what is handed in and out is not shared": bytesNotShared,
	"summaries follow the events":             summariesFollow,
	"an identity of its own":                  identityOfItsOwn,
	"lists":                                   lists,
	"pages of jobs of one millisecond":        pagesOfOneMillisecond,
	"any text":                                anyText,
	"an ended context":                        endedContext,
	"after closing":                           afterClosing,
	"many at once":                            manyAtOnce,
}

func TestStores(t *testing.T) {
	for kind, open := range map[string]func(*testing.T) Store{
		"postgres": func(t *testing.T) Store { return openShared(t, shop.Database(t, cluster.Template)) },
		"memory":   func(*testing.T) Store { return OpenMemory() },
		"sqlite":   func(t *testing.T) Store { return openTemporary(t, filepath.Join(t.TempDir(), "records.db")) },
	} {
		for name, promise := range contract {
			t.Run(kind+"/"+name, func(t *testing.T) { promise(t, open(t)) })
		}
	}
}

func openTemporary(t testing.TB, path string) *file {
	t.Helper()
	s, err := OpenSQLite(t.Context(), path)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close() })
	return s.(*file)
}

var morning = time.Date(2026, 3, 14, 9, 0, 0, 0, time.UTC)

// jobID gives distinct ids that sort as n does.
func jobID(n int) uuid.UUID {
	return uuid.MustParse(fmt.Sprintf("018f3a5c-7d20-7000-8000-%012x", n))
}

func stampAt(at time.Time, by string) record.Stamp {
	return record.Stamp{At: at, MonoMS: 1, Run: uuid.MustParse("018f3a5c-8000-7000-8000-000000000001"), By: by}
}

func created(asset string, number int64) record.Created {
	return record.Created{Asset: asset, Number: number, Title: asset + " clean", Procedure: "rail-pumped"}
}

func seal(t testing.TB, head record.Head, s record.Stamp, bodies ...record.Body) ([]record.Event, record.Head) {
	t.Helper()
	events, next, err := record.Seal(head, s, bodies...)
	if err != nil {
		t.Fatal(err)
	}
	return events, next
}

// add seals bodies by Tobi Fenn and appends them.
func add(t testing.TB, s Store, head record.Head, bodies ...record.Body) record.Head {
	t.Helper()
	events, next := seal(t, head, stampAt(morning, "Tobi Fenn"), bodies...)
	if err := s.Append(context.Background(), head, events); err != nil {
		t.Fatal(err)
	}
	return next
}

func wantEvents(t testing.TB, s Store, job uuid.UUID, want []record.Event) {
	t.Helper()
	got, err := s.Events(context.Background(), job)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

func wantError(t testing.TB, what string, err, want error) {
	t.Helper()
	if !errors.Is(err, want) {
		t.Errorf("%s: got %v, want %v", what, err, want)
	}
}

func eventsComeBack(t *testing.T, s Store) {
	first, head := seal(t, record.Genesis(jobID(1)), stampAt(morning, "Tobi Fenn"), created("VAN-07", 1), record.Note{Text: "a"})
	second, next := seal(t, head, stampAt(morning.Add(time.Minute), "Mara Quill"), record.StepStarted{Step: "b"})
	if err := s.Append(t.Context(), record.Genesis(jobID(1)), first); err != nil {
		t.Fatal(err)
	}
	if err := s.Append(t.Context(), head, second); err != nil {
		t.Fatal(err)
	}
	add(t, s, record.Genesis(jobID(2)), created("TRAC-02", 1))
	wantEvents(t, s, jobID(1), append(first, second...))
	if got, err := s.Get(t.Context(), jobID(1)); err != nil || got.Head != next.Hash || got.Events != 3 {
		t.Errorf("got %v, %v; want the head %s", got, err, next.Hash)
	}
}

func movedHeadKeepsNothing(t *testing.T, s Store) {
	head := add(t, s, record.Genesis(jobID(1)), created("VAN-07", 1))
	mine, _ := seal(t, head, stampAt(morning, "Mara Quill"), record.Note{Text: "mine"})
	next := add(t, s, head, record.Note{Text: "theirs"})
	before, err := s.Events(t.Context(), jobID(1))
	if err != nil {
		t.Fatal(err)
	}
	blob := record.Blob("beside the refused event")
	wantError(t, "an append at an old head", s.Append(t.Context(), head, mine, blob), ErrMoved)
	wantEvents(t, s, jobID(1), before)
	_, err = s.Blob(t.Context(), blob.Digest())
	wantError(t, "the blob beside it", err, ErrNoBlob)

	ahead := record.Head{Job: jobID(1), Seq: 2, Hash: record.Hash{1}}
	other, _ := seal(t, ahead, stampAt(morning, "Mara Quill"), record.Note{Text: "another chain"})
	wantError(t, "an append at a head of another chain", s.Append(t.Context(), ahead, other), ErrMoved)
	further := record.Head{Job: jobID(1), Seq: 5, Hash: next.Hash}
	late, _ := seal(t, further, stampAt(morning, "Mara Quill"), record.Note{Text: "too far on"})
	wantError(t, "an append further on", s.Append(t.Context(), further, late), ErrMoved)
	wantEvents(t, s, jobID(1), before)
}

func jobBeginsOnce(t *testing.T, s Store) {
	add(t, s, record.Genesis(jobID(1)), created("VAN-07", 1))
	again, _ := seal(t, record.Genesis(jobID(1)), stampAt(morning, "Mara Quill"), created("VAN-07", 2))
	wantError(t, "a second beginning", s.Append(t.Context(), record.Genesis(jobID(1)), again), ErrMoved)
	if _, err := s.Find(t.Context(), "VAN-07", 2); !errors.Is(err, ErrUnknown) {
		t.Errorf("got %v, want %v", err, ErrUnknown)
	}
}

func numberGivenOnce(t *testing.T, s Store) {
	next := func(asset string, want int64) {
		t.Helper()
		if got, err := s.NextNumber(t.Context(), asset); err != nil || got != want {
			t.Errorf("next number of %s: got %d, %v; want %d", asset, got, err, want)
		}
	}
	next("VAN-07", 1)
	add(t, s, record.Genesis(jobID(1)), created("VAN-07", 1))
	add(t, s, record.Genesis(jobID(2)), created("VAN-07", 7))
	add(t, s, record.Genesis(jobID(3)), created("BOAT-11", 1))
	next("VAN-07", 8)
	next("BOAT-11", 2)
	next("van-07", 1)
	taken, _ := seal(t, record.Genesis(jobID(4)), stampAt(morning, "Mara Quill"), created("VAN-07", 7))
	err := s.Append(t.Context(), record.Genesis(jobID(4)), taken)
	wantError(t, "a number taken", err, ErrNumberTaken)
	if err != nil && !strings.Contains(err.Error(), "VAN-07/7") {
		t.Errorf("%v does not name VAN-07/7", err)
	}
	_, err = s.Get(t.Context(), jobID(4))
	wantError(t, "the job refused", err, ErrUnknown)
}

func unknownJobIsSaid(t *testing.T, s Store) {
	_, err := s.Get(t.Context(), jobID(9))
	wantError(t, "get", err, ErrUnknown)
	_, err = s.Find(t.Context(), "VAN-07", 9)
	wantError(t, "find", err, ErrUnknown)
	_, err = s.Events(t.Context(), jobID(9))
	wantError(t, "events", err, ErrUnknown)
	_, err = s.Blob(t.Context(), record.Hash{1})
	wantError(t, "blob", err, ErrNoBlob)
	head := record.Head{Job: jobID(9), Seq: 3, Hash: record.Hash{1}}
	events, _ := seal(t, head, stampAt(morning, "Mara Quill"), record.Note{Text: "x"})
	wantError(t, "append", s.Append(t.Context(), head, events), ErrUnknown)
	if list, err := s.Jobs(t.Context(), Query{}); err != nil || len(list) != 0 {
		t.Errorf("got %v, %v", list, err)
	}
}

func unsoundEventsRefused(t *testing.T, s Store) {
	head := add(t, s, record.Genesis(jobID(1)), created("VAN-07", 1))
	good, _ := seal(t, head, stampAt(morning, "Mara Quill"), record.Note{Text: "a"}, record.Note{Text: "b"}, record.Note{Text: "c"})
	altered := slices.Clone(good)
	altered[1].By = "Ines Holm"
	for name, c := range map[string]struct {
		head   record.Head
		events []record.Event
	}{
		"none":              {head, nil},
		"gap":               {head, []record.Event{good[0], good[2]}},
		"twice":             {head, []record.Event{good[0], good[0]}},
		"not from the head": {head, good[1:]},
		"altered":           {head, altered},
		"of another job":    {record.Genesis(jobID(2)), good},
		"false genesis":     {record.Head{Job: jobID(1)}, good},
	} {
		if err := s.Append(t.Context(), c.head, c.events); err == nil {
			t.Errorf("%s: accepted", name)
		}
	}
	for name, body := range map[string]record.Created{"no asset": created("", 1), "no number": created("VAN-07", 0)} {
		events, _ := seal(t, record.Genesis(jobID(3)), stampAt(morning, "Mara Quill"), body)
		if err := s.Append(t.Context(), record.Genesis(jobID(3)), events); err == nil {
			t.Errorf("%s: accepted", name)
		}
	}
	if got, err := s.Get(t.Context(), jobID(1)); err != nil || got.Events != 1 {
		t.Errorf("got %d events, %v; want 1", got.Events, err)
	}
}

func blobsKeptByContent(t *testing.T, s Store) {
	plan, empty := record.Blob("plan\x00\xff"), record.Blob(nil)
	body := created("VAN-07", 1)
	body.Plan, body.Job = plan.Digest(), empty.Digest()
	events, head := seal(t, record.Genesis(jobID(1)), stampAt(morning, "Tobi Fenn"), body)
	if err := s.Append(t.Context(), record.Genesis(jobID(1)), events, plan, empty, plan); err != nil {
		t.Fatal(err)
	}
	for _, want := range []record.Blob{plan, empty} {
		if got, err := s.Blob(t.Context(), want.Digest()); err != nil || !bytes.Equal(got, want) {
			t.Errorf("got %q, %v; want %q", got, err, want)
		}
	}
	// The same bytes again, given or not.
	photo := record.Photo{Step: "a", File: "a.jpg", Blob: plan.Digest()}
	events, next := seal(t, head, stampAt(morning, "Tobi Fenn"), photo)
	if err := s.Append(t.Context(), head, events, plan); err != nil {
		t.Error(err)
	}
	add(t, s, next, photo)
	chain, err := s.Events(t.Context(), jobID(1))
	if err != nil {
		t.Fatal(err)
	}
	if err := record.Verify(jobID(1), chain, func(h record.Hash) ([]byte, error) { return s.Blob(t.Context(), h) }); err != nil {
		t.Error(err)
	}
}

func namedBlobMustBeThere(t *testing.T, s Store) {
	head := add(t, s, record.Genesis(jobID(1)), created("VAN-07", 1))
	picture := record.Blob("picture")
	events, _ := seal(t, head, stampAt(morning, "Tobi Fenn"), record.Photo{Step: "a", File: "a.jpg", Blob: picture.Digest()})
	err := s.Append(t.Context(), head, events, record.Blob("another picture"))
	wantError(t, "a blob that was not given", err, ErrNoBlob)
	if got, err := s.Get(t.Context(), jobID(1)); err != nil || got.Events != 1 {
		t.Errorf("got %d events, %v; want 1", got.Events, err)
	}
	if err := s.Append(t.Context(), head, events, picture); err != nil {
		t.Error(err)
	}
}

func bytesNotShared(t *testing.T, s Store) {
	picture := record.Blob("picture")
	body := created("VAN-07", 1)
	body.Plan = picture.Digest()
	events, _ := seal(t, record.Genesis(jobID(1)), stampAt(morning, "Tobi Fenn"), body)
	if err := s.Append(t.Context(), record.Genesis(jobID(1)), events, picture); err != nil {
		t.Fatal(err)
	}
	want := slices.Clone(events)
	want[0].Body = bytes.Clone(events[0].Body)
	events[0].Body[2], picture[0] = 'X', 'X'
	got, err := s.Events(t.Context(), jobID(1))
	if err != nil {
		t.Fatal(err)
	}
	got[0].Body[3] = 'Y'
	wantEvents(t, s, jobID(1), want)
	for range 2 {
		data, err := s.Blob(t.Context(), body.Plan)
		if err != nil || string(data) != "picture" {
			t.Fatalf("got %q, %v", data, err)
		}
		data[0] = 'Z'
	}
}

func summariesFollow(t *testing.T, s Store) {
	head := record.Genesis(jobID(1))
	var want record.Summary
	for i, bodies := range [][]record.Body{
		{created("VAN-07", 3)},
		{record.StepStarted{Step: "a"}, record.StepDone{Step: "a"}},
		{record.HandedOver{From: "Tobi Fenn", To: "Mara Quill"}},
		{record.Emergency{}},
		{record.Resumed{}},
		{record.ReadyForReview{}},
		{record.Signed{Which: record.SignOffWork, Verdict: "fit"}},
	} {
		events, next := seal(t, head, stampAt(morning.Add(time.Duration(i)*time.Hour+1500*time.Microsecond), "Tobi Fenn"), bodies...)
		if err := s.Append(t.Context(), head, events); err != nil {
			t.Fatal(err)
		}
		for _, e := range events {
			var err error
			if want, err = want.Apply(e); err != nil {
				t.Fatal(err)
			}
		}
		head = next
		got, err := s.Get(t.Context(), jobID(1))
		if err != nil {
			t.Fatal(err)
		}
		found, err := s.Find(t.Context(), "VAN-07", 3)
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff([]record.Summary{want, want}, []record.Summary{got, found}); diff != "" {
			t.Error(diff)
		}
	}
	if want.State != record.StateWaiting || want.Created.Equal(want.Updated) {
		t.Errorf("the example ends in %q", want.State)
	}
}

func anyText(t *testing.T, s Store) {
	for n, text := range []string{"'; DROP TABLE jobs; --", "a\x00b", "\u2028\u202e", "ÄÖ/😀", "%_", " VAN-07 "} {
		head := record.Genesis(jobID(n))
		events, _ := seal(t, head, stampAt(morning, text), created(text, 1), record.StepStarted{Step: text}, record.Note{Text: text})
		if err := s.Append(t.Context(), head, events); err != nil {
			t.Fatalf("%q: %v", text, err)
		}
		wantEvents(t, s, jobID(n), events)
		if got, err := s.Find(t.Context(), text, 1); err != nil || got.Asset != text || got.Operator != text {
			t.Errorf("%q: got %v, %v", text, got, err)
		}
		if got, err := s.Jobs(t.Context(), Query{Asset: text, Operator: text}); err != nil || len(got) != 1 {
			t.Errorf("%q: got %v, %v", text, got, err)
		}
	}
}

func endedContext(t *testing.T, s Store) {
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	head := record.Genesis(jobID(1))
	events, _ := seal(t, head, stampAt(morning, "Tobi Fenn"), created("VAN-07", 1))
	wantError(t, "append", s.Append(ctx, head, events), context.Canceled)
	_, err := s.Jobs(ctx, Query{})
	wantError(t, "jobs", err, context.Canceled)
	_, err = s.Get(t.Context(), jobID(1))
	wantError(t, "the job", err, ErrUnknown)
}

func afterClosing(t *testing.T, s Store) {
	head := add(t, s, record.Genesis(jobID(1)), created("VAN-07", 1))
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	events, _ := seal(t, head, stampAt(morning, "Tobi Fenn"), record.Note{Text: "late"})
	calls := map[string]error{"append": s.Append(t.Context(), head, events)}
	_, calls["events"] = s.Events(t.Context(), jobID(1))
	_, calls["blob"] = s.Blob(t.Context(), record.Hash{})
	_, calls["get"] = s.Get(t.Context(), jobID(1))
	_, calls["find"] = s.Find(t.Context(), "VAN-07", 1)
	_, calls["jobs"] = s.Jobs(t.Context(), Query{})
	_, calls["identity"] = s.Identity(t.Context())
	_, calls["next number"] = s.NextNumber(t.Context(), "VAN-07")
	for name, err := range calls {
		if err == nil || errors.Is(err, ErrUnknown) || !strings.Contains(err.Error(), "closed") {
			t.Errorf("%s: got %v, want that the store is closed", name, err)
		}
	}
}

func identityOfItsOwn(t *testing.T, s Store) {
	first, err := s.Identity(t.Context())
	if err != nil || first == uuid.Nil {
		t.Fatalf("got %s, %v", first, err)
	}
	if again, err := s.Identity(t.Context()); err != nil || again != first {
		t.Errorf("got %s, %v; want %s", again, err, first)
	}
}
