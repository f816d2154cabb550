package cli

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/google/uuid"

	"daytank/procedures/record"
)

// exported reads a record that is kept with the tests.
func exported(t testing.TB, file string) record.Export {
	t.Helper()
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	x, err := record.ReadExport(bytes.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	return x
}

// retold tells a record again as that of another job: each event by the person and with the
// body that the functions make of it, then further events, sealed anew. Blobs are given by
// their digests; those that no event names any more are left out.
func retold(t testing.TB, x record.Export, job uuid.UUID, by func(string) string, body func(record.Body) record.Body, more ...record.Body) record.Export {
	t.Helper()
	blobs := map[record.Hash]record.Blob{}
	for _, b := range x.Blobs {
		blobs[b.Digest()] = b
	}
	head := record.Genesis(job)
	var events []record.Event
	put := func(stamp record.Stamp, b record.Body) {
		sealed, next, err := record.Seal(head, stamp, b)
		if err != nil {
			t.Fatal(err)
		}
		events, head = append(events, sealed...), next
	}
	var last record.Stamp
	for _, e := range x.Events {
		b, err := e.Decode()
		if err != nil {
			t.Fatal(err)
		}
		last = record.Stamp{At: e.At, MonoMS: e.MonoMS, Run: e.Run, By: by(e.By)}
		put(last, body(b))
	}
	for _, b := range more {
		last.At, last.MonoMS = last.At.Add(time.Minute), last.MonoMS+60_000
		put(last, b)
	}
	told, err := record.Gather(job, events, func(h record.Hash) ([]byte, error) {
		if b, ok := blobs[h]; ok {
			return b, nil
		}
		return nil, os.ErrNotExist
	})
	if err != nil {
		t.Fatal(err)
	}
	return told
}

// written writes a record to a file and gives its name.
func written(t testing.TB, x record.Export, file string) string {
	t.Helper()
	var text bytes.Buffer
	if err := x.Write(&text); err != nil {
		t.Fatal(err)
	}
	if err := os.MkdirAll(filepath.Dir(file), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(file, text.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
	return file
}

// office is a place where records are looked at, without a terminal.
type office struct {
	home    string
	environ []string
}

// run runs a command in this process.
func (o office) run(t testing.TB, args ...string) result {
	t.Helper()
	var stdout, stderr bytes.Buffer
	now := time.Date(2026, 3, 27, 8, 0, 0, 0, time.UTC)
	code := Run(t.Context(), Env{
		Args: args, Stdout: &stdout, Stderr: &stderr,
		Environ: append([]string{"HOME=" + o.home}, o.environ...),
		Now:     func() time.Time { return now }, Mono: func() time.Duration { return 0 }, NewID: uuid.NewV7,
	})
	return result{Code(code), stdout.String(), stderr.String()}
}

// done runs a command that has to succeed and gives what it wrote.
func (o office) done(t testing.TB, args ...string) string {
	t.Helper()
	got := o.run(t, args...)
	if got.Code != Done {
		t.Fatalf("daytank %q: status %d\n%s", args, got.Code, got.Stderr)
	}
	return got.Stdout
}

// npmFile gives the place of a file of an npm package, and skips the test where it is not in
// the folder that the variable DAYTANK_NPM names. The continuous integration sets that, and
// fails where a test is skipped.
func npmFile(t testing.TB, file string) string {
	t.Helper()
	place := filepath.Join(os.Getenv("DAYTANK_NPM"), "node_modules", filepath.FromSlash(file))
	if _, err := os.Stat(place); err != nil {
		t.Skip("DAYTANK_NPM names no folder with node_modules/" + file)
	}
	return place
}
