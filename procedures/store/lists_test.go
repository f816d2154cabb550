package store

import (
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"daytank/procedures/record"

	"github.com/google/go-cmp/cmp"
	"github.com/google/uuid"
)

// fillLists makes jobs 1 to 12, one an hour: assets in turn, states by thirds.
func fillLists(t *testing.T, s Store) {
	t.Helper()
	assets := []string{"VAN-07", "TRAC-02", "BOAT-11"}
	for n := 1; n <= 12; n++ {
		by := "Tobi Fenn"
		if n%2 == 0 {
			by = "Mara Quill"
		}
		bodies := []record.Body{created(assets[n%3], int64(n))}
		if n > 4 {
			bodies = append(bodies, record.StepStarted{Step: "a"})
		}
		if n > 8 {
			bodies = append(bodies, record.Paused{Reason: "lunch"})
		}
		weighs := map[int][]record.Body{
			3: {record.Deviation{Text: "by hand"}}, 6: {record.Deviation{Text: "by hand"}, record.Deviation{Text: "in the rain"}},
			10: {record.Clock{DifferenceMS: 3000}},
		}
		bodies = append(bodies, weighs[n]...)
		head := record.Genesis(jobID(n))
		events, _ := seal(t, head, stampAt(morning.Add(time.Duration(n)*time.Hour), by), bodies...)
		if err := s.Append(t.Context(), head, events); err != nil {
			t.Fatal(err)
		}
	}
}

func lists(t *testing.T, s Store) {
	fillLists(t, s)
	hour := func(n int) time.Time { return morning.Add(time.Duration(n) * time.Hour) }
	paused, walking, ready := record.StatePaused, record.StateWalking, record.StateReady
	for _, c := range []struct {
		name string
		q    Query
		want []int64
	}{
		{"all", Query{}, []int64{12, 11, 10, 9, 8, 7, 6, 5, 4, 3, 2, 1}},
		{"first page", Query{Limit: 3}, []int64{12, 11, 10}},
		{"second page", Query{Limit: 3, Offset: 3}, []int64{9, 8, 7}},
		{"offset without a limit", Query{Offset: 10}, []int64{2, 1}},
		{"past the end", Query{Limit: 3, Offset: 30}, nil},
		{"asset", Query{Asset: "VAN-07"}, []int64{12, 9, 6, 3}},
		{"asset in another case", Query{Asset: "van-07"}, nil},
		{"state", Query{States: []record.State{walking}}, []int64{8, 7, 6, 5}},
		{"two states", Query{States: []record.State{ready, paused}}, []int64{12, 11, 10, 9, 4, 3, 2, 1}},
		{"a page of two states", Query{States: []record.State{ready, paused}, Limit: 3, Offset: 3}, []int64{9, 4, 3}},
		{"a state twice", Query{States: []record.State{walking, walking}}, []int64{8, 7, 6, 5}},
		{"every state", Query{States: record.States(), Limit: 2}, []int64{12, 11}},
		{"a state nobody is in", Query{States: []record.State{record.StateSigned}}, nil},
		{"operator", Query{Operator: "Mara Quill"}, []int64{12, 10, 8, 6}},
		{"operator and states", Query{Operator: "Mara Quill", States: []record.State{walking, ready}}, []int64{8, 6}},
		{"from", Query{From: hour(10)}, []int64{12, 11, 10}},
		{"from just after", Query{From: hour(10).Add(1)}, []int64{12, 11}},
		{"to", Query{To: hour(3)}, []int64{2, 1}},
		{"to just after", Query{To: hour(3).Add(1)}, []int64{3, 2, 1}},
		{"from and to in another zone", Query{From: hour(4).In(time.FixedZone("", -7200)), To: hour(6)}, []int64{5, 4}},
		{"the worst first", Query{WorstFirst: true}, []int64{6, 3, 10, 12, 11, 9, 8, 7, 5, 4, 2, 1}},
		{"the worst first, second page", Query{WorstFirst: true, Limit: 3, Offset: 2}, []int64{10, 12, 11}},
		{"the worst of two states", Query{WorstFirst: true, States: []record.State{ready, paused}, Limit: 3}, []int64{3, 10, 12}},
		{"the worst of a state", Query{WorstFirst: true, States: []record.State{walking}, Limit: 2}, []int64{6, 8}},
		{"named", Query{Jobs: []uuid.UUID{jobID(2), jobID(9), jobID(99)}}, []int64{9, 2}},
		{"named and in a state", Query{Jobs: []uuid.UUID{jobID(2), jobID(9)}, States: []record.State{paused, walking}}, []int64{9}},
		{"all at once", Query{Asset: "BOAT-11", Operator: "Mara Quill", States: []record.State{walking, paused}, From: hour(1), To: hour(20), Limit: 5}, []int64{8}},
	} {
		got, err := s.Jobs(t.Context(), c.q)
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		var numbers []int64
		for _, s := range got {
			numbers = append(numbers, s.Number)
		}
		if diff := cmp.Diff(c.want, numbers); diff != "" {
			t.Errorf("%s: %s", c.name, diff)
		}
	}
	for _, q := range []Query{{Limit: -1}, {Offset: -1}} {
		if _, err := s.Jobs(t.Context(), q); err == nil {
			t.Errorf("%+v is accepted", q)
		}
	}
}

func pagesOfOneMillisecond(t *testing.T, s Store) {
	var want []uuid.UUID
	for n := 1; n <= 7; n++ {
		add(t, s, record.Genesis(jobID(n)), created("VAN-07", int64(n)))
		want = append([]uuid.UUID{jobID(n)}, want...)
	}
	var got []uuid.UUID
	for offset := 0; offset < 8; offset += 2 {
		page, err := s.Jobs(t.Context(), Query{Limit: 2, Offset: offset})
		if err != nil {
			t.Fatal(err)
		}
		for _, s := range page {
			got = append(got, s.Job)
		}
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

// Every list is read from an index in its order, whatever it is filtered by, in
// a file just made and in one opened again.
func TestListsAreReadFromAnIndex(t *testing.T) {
	path := temporaryPath(t)
	s := openTemporary(t, path)
	wantIndexes(t, s)
	s.Close()
	wantIndexes(t, openTemporary(t, path))
}

func wantIndexes(t *testing.T, s *file) {
	t.Helper()
	one, two := []record.State{record.StateWalking}, []record.State{record.StateWalking, record.StateToReview}
	for _, c := range []struct {
		q     Query
		index string
	}{
		{Query{Limit: 50}, "jobs_by_created"},
		{Query{Limit: 50, From: morning, To: morning}, "jobs_by_created"},
		{Query{Limit: 50, Asset: "VAN-07"}, "jobs_by_asset"},
		{Query{Limit: 50, Asset: "VAN-07", States: two}, "jobs_by_asset"},
		{Query{Limit: 50, Asset: "VAN-07", Operator: "Mara Quill"}, "jobs_by_asset"},
		{Query{Limit: 50, Asset: "VAN-07", Operator: "Mara Quill", States: one, From: morning}, "jobs_by_asset"},
		{Query{Limit: 50, States: one}, "jobs_by_state"},
		{Query{Limit: 50, States: two, From: morning}, "jobs_by_state"},
		{Query{Limit: 50, Operator: "Mara Quill"}, "jobs_by_operator"},
		{Query{Limit: 50, Operator: "Mara Quill", States: one}, "jobs_by_operator_state"},
		{Query{Limit: 50, Operator: "Mara Quill", States: two, To: morning}, "jobs_by_operator_state"},
	} {
		plan := queryPlan(t, s, c.q)
		if !slices.Contains(strings.Fields(plan), c.index) {
			t.Errorf("%+v is not read from %s:\n%s", c.q, c.index, plan)
		}
		if strings.Contains(plan, "TEMP B-TREE") && len(c.q.States) < 2 {
			t.Errorf("%+v is sorted:\n%s", c.q, plan)
		}
	}
}

func queryPlan(t *testing.T, s *file, q Query) string {
	t.Helper()
	query, args := q.statement()
	rows, err := s.db.QueryContext(t.Context(), "EXPLAIN QUERY PLAN "+query, args...)
	if err != nil {
		t.Fatal(err)
	}
	defer rows.Close()
	var lines []string
	for rows.Next() {
		var id, parent, unused int
		var detail string
		if err := rows.Scan(&id, &parent, &unused, &detail); err != nil {
			t.Fatal(err)
		}
		lines = append(lines, detail)
	}
	return strings.Join(lines, "\n")
}

func BenchmarkOpen(b *testing.B) {
	path := temporaryPath(b)
	add(b, openTemporary(b, path), record.Genesis(jobID(1)), created("VAN-07", 1))
	for b.Loop() {
		s, err := OpenSQLite(b.Context(), path)
		if err != nil {
			b.Fatal(err)
		}
		s.Close()
	}
}

func BenchmarkAppend(b *testing.B) {
	s := openTemporary(b, temporaryPath(b))
	head := add(b, s, record.Genesis(jobID(1)), created("VAN-07", 1))
	for b.Loop() {
		head = add(b, s, head, record.StepDone{Step: "pump-dead"})
	}
}

func BenchmarkEventsOf60(b *testing.B) {
	s := openTemporary(b, temporaryPath(b))
	head := add(b, s, record.Genesis(jobID(1)), created("VAN-07", 1))
	for range 59 {
		head = add(b, s, head, record.StepDone{Step: "pump-dead"})
	}
	for b.Loop() {
		if _, err := s.Events(b.Context(), jobID(1)); err != nil {
			b.Fatal(err)
		}
	}
}

// loadFile names the file that the lists are filled in, and that stays, with 60
// events a job; without it they are filled in one of their own, without events,
// which no list looks at.
const loadFile = "DAYTANK_LOAD"

// fillMany makes so many jobs: nearly all signed, a few in other states.
func fillMany(b *testing.B, s *file, jobs int) {
	b.Helper()
	defer func() {
		if os.Getenv(loadFile) != "" {
			run(b, s.db, `WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < 60)
				INSERT INTO events SELECT job, i, printf('{"at":"2026-03-14T09:26:53.589Z","seq":%d,"filler":"%s"}', i, hex(randomblob(140))) FROM jobs, n ORDER BY job, i`)
		}
	}()
	run(b, s.db, `WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < `+strconv.Itoa(jobs)+`)
		INSERT INTO jobs SELECT printf('018f3a5c-7d20-7000-8000-%012x', i), 'VAN-' || (i % 5000), i, 'title', 'rail-pumped',
		CASE WHEN i % 20000 = 7 THEN 'walking' WHEN i % 5000 = 9 THEN 'to review' ELSE 'signed' END,
		'operator ' || (i % 12), 1773000000000 + i * 60000, 1773000000000 + i * 60000, 60, printf('%064x', i), 0, (i % 11) * 1000 + i % 7 FROM n`)
}

func BenchmarkListsOf100000(b *testing.B) {
	path := os.Getenv(loadFile)
	if path == "" {
		path = temporaryPath(b)
	}
	s := openTemporary(b, path)
	if jobs, err := s.Jobs(b.Context(), Query{Limit: 1}); err != nil || len(jobs) == 0 {
		fillMany(b, s, 100_000)
	}
	for name, q := range map[string]Query{
		"to review, worst first": {States: []record.State{record.StateToReview}, Limit: 50, WorstFirst: true},
		"first page":             {Limit: 50},
		"page 1000":              {Limit: 50, Offset: 50_000},
		"asset":                  {Limit: 50, Asset: "VAN-77"},
		"asset signed":           {Limit: 50, Asset: "VAN-77", States: []record.State{record.StateSigned}},
		"open jobs":              {Limit: 50, States: []record.State{record.StateReady, record.StateWalking, record.StatePaused, record.StateStopped}},
		"review queue":           {Limit: 50, States: []record.State{record.StateToReview}},
		"operator walking":       {Limit: 50, Operator: "operator 7", States: []record.State{record.StateWalking}},
		"a month":                {Limit: 50, From: time.UnixMilli(1773000000000), To: time.UnixMilli(1775600000000)},
	} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				if _, err := s.Jobs(b.Context(), q); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
	b.Run("next number", func(b *testing.B) {
		for b.Loop() {
			if _, err := s.NextNumber(b.Context(), "VAN-77"); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("get", func(b *testing.B) {
		for b.Loop() {
			if _, err := s.Get(b.Context(), uuid.MustParse("018f3a5c-7d20-7000-8000-00000000cafe")); err != nil {
				b.Fatal(err)
			}
		}
	})
}

// BenchmarkListsOf100 is what the first page of BenchmarkListsOf100000 is held
// against: as many lines of a store with hardly more.
func BenchmarkListsOf100(b *testing.B) {
	s := openTemporary(b, temporaryPath(b))
	fillMany(b, s, 100)
	b.Run("first page", func(b *testing.B) {
		for b.Loop() {
			if page, err := s.Jobs(b.Context(), Query{Limit: 50}); err != nil || len(page) != 50 {
				b.Fatalf("%d jobs, %v", len(page), err)
			}
		}
	})
}

// BenchmarkBareWrite is what BenchmarkAppend is held against: the same bytes at
// the end of a file, on the disk when it returns.
func BenchmarkBareWrite(b *testing.B) {
	f, err := os.OpenFile(temporaryPath(b), os.O_CREATE|os.O_WRONLY|os.O_APPEND, 0o600)
	if err != nil {
		b.Fatal(err)
	}
	defer f.Close()
	events, _ := seal(b, record.Genesis(jobID(1)), stampAt(morning, "Tobi Fenn"), created("VAN-07", 1))
	line := events[0].Line()
	for b.Loop() {
		if _, err := f.Write(line); err != nil {
			b.Fatal(err)
		}
		if err := f.Sync(); err != nil {
			b.Fatal(err)
		}
	}
}
