package record

import (
	"bufio"
	"bytes"
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"errors"
	"io"
	"os"
	"runtime"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/google/uuid"
)

// demoRecord is the record of a whole walk, as it was exported.
func demoRecord(t testing.TB) []byte {
	t.Helper()
	text, err := os.ReadFile("../../testdata/records/van.jsonl")
	if err != nil {
		t.Fatal(err)
	}
	return text
}

func demoExport(t testing.TB) Export {
	t.Helper()
	x, err := ReadExport(bytes.NewReader(demoRecord(t)))
	if err != nil {
		t.Fatal(err)
	}
	return x
}

func written(t testing.TB, x Export) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := x.Write(&b); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func TestExportIsWrittenAsItWasRead(t *testing.T) {
	x := demoExport(t)
	if len(x.Events) < 200 || len(x.Blobs) < 4 {
		t.Fatalf("%d events, %d blobs", len(x.Events), len(x.Blobs))
	}
	if !bytes.Equal(written(t, x), demoRecord(t)) {
		t.Error("written again the record differs")
	}
	gathered, err := Gather(x.Job, x.Events, func(h Hash) ([]byte, error) {
		for _, b := range x.Blobs {
			if b.Digest() == h {
				return b, nil
			}
		}
		return nil, errors.New("no such blob")
	})
	if err != nil || !bytes.Equal(written(t, gathered), demoRecord(t)) {
		t.Errorf("gathered again the record differs: %v", err)
	}
}

// lineAt is a line of an exported file, with the reader as it stands before it.
type lineAt struct {
	x    Export
	head Head
	line int
	text []byte // with its line feed
	blob Hash   // of a blob
}

// reads tells whether a line is taken at the place.
func (p lineAt) reads(line []byte) error {
	f := exportReader{in: newReader(line), line: p.line - 1}
	x := Export{Job: p.x.Job}
	switch {
	case p.line == 1:
		got, c, err := f.header()
		if err == nil && (got.Job != p.x.Job || c != counts{len(p.x.Events), len(p.x.Blobs), p.x.Head().Hash}) {
			err = errors.New("the rest of the file does not bear it out")
		}
		return errors.Join(err, f.atEnd())
	case !p.blob.IsZero():
		return errors.Join(f.blob(&x, p.blob), f.atEnd())
	}
	next, err := f.event(&x, p.head)
	if err == nil && next != p.x.Events[p.line-2].Head() {
		err = errors.New("the next event does not follow it")
	}
	return errors.Join(err, f.atEnd())
}

// atEnd holds that a line was one line.
func (f *exportReader) atEnd() error {
	if _, err := f.in.ReadByte(); !errors.Is(err, io.EOF) {
		return errors.New("something stands behind it")
	}
	return nil
}

func placesOf(t testing.TB) []lineAt {
	x := demoExport(t)
	named := namedBlobs(x.Events)
	var all []lineAt
	head := Genesis(x.Job)
	for i, line := range bytes.SplitAfter(demoRecord(t), []byte("\n")) {
		p := lineAt{x: x, head: head, line: i + 1, text: line}
		switch {
		case len(line) == 0:
			continue
		case i > len(x.Events):
			p.blob = named[i-1-len(x.Events)]
		case i > 0:
			head = x.Events[i-1].Head()
		}
		all = append(all, p)
	}
	return all
}

// Every byte of the record is changed, in two bits and into a line feed, and the
// file is cut at every byte: nothing of that is taken. A line is looked at by
// itself, in the place where it stands; what comes before it is as it was. All 255
// other values of every byte of one line are tried elsewhere.
func TestNoByteOfTheRecordCanBeOtherwise(t *testing.T) {
	places := placesOf(t)
	for _, p := range places {
		if err := p.reads(p.text); err != nil {
			t.Fatalf("line %d as it was: %v", p.line, err)
		}
	}
	work := make(chan lineAt)
	var workers sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		workers.Go(func() {
			for p := range work {
				p.changeEveryByte(t)
			}
		})
	}
	for _, p := range places {
		work <- p
	}
	close(work)
	workers.Wait()
}

// strideOfBlobs is how many bytes of a blob pass between two that are changed:
// each takes a hash of the whole.
const strideOfBlobs = 23

func (p lineAt) changeEveryByte(t *testing.T) {
	refused := func(what string, at int, line []byte) {
		if p.reads(line) == nil {
			t.Errorf("line %d, byte %d, %s: it is taken", p.line, at+1, what)
		}
	}
	changed := bytes.Clone(p.text)
	for i := range p.text {
		if p.blob.IsZero() || i < 90 || i%7 == 0 { // inside a blob they are alike
			refused("cut", i, p.text[:i])
		}
		if raceDetector && i%17 != 0 {
			continue
		}
		for _, bit := range []int{i % 8, (i + 3) % 8} {
			if !p.blob.IsZero() && i > 90 && (i+bit)%strideOfBlobs != 0 {
				continue
			}
			changed[i] = p.text[i] ^ 1<<bit
			refused("a bit", i, changed)
		}
		if p.text[i] != '\n' {
			changed[i] = '\n'
			refused("a line feed", i, changed)
		}
		changed[i] = p.text[i]
	}
}

// The file cut at every line, a line taken out, twice, or changed for its
// neighbour: nothing of that is taken, and the line is named.
func TestLinesOfTheRecordStayInTheirOrder(t *testing.T) {
	lines := bytes.SplitAfter(demoRecord(t), []byte("\n"))
	lines = lines[:len(lines)-1]
	refused := func(what string, i int, made ...[]byte) {
		t.Helper()
		_, err := ReadExport(bytes.NewReader(bytes.Join(made, nil)))
		var wrong *LineError
		if !errors.As(err, &wrong) {
			t.Errorf("%s at line %d: %v", what, i+1, err)
		}
	}
	for i := 0; i < len(lines); i += 1 + i%5 {
		refused("cut", i, lines[:i]...)
		refused("taken out", i, append(lines[:i:i], lines[i+1:]...)...)
		refused("twice", i, append(append(lines[:i+1:i+1], lines[i]), lines[i+1:]...)...)
		if i+1 < len(lines) {
			refused("changed for the next", i, append(append(lines[:i:i], lines[i+1], lines[i]), lines[i+2:]...)...)
		}
	}
	for _, tail := range []string{"\n", " ", "{}\n", string(lines[5]), string(lines[0])} {
		refused("behind the end", len(lines), append(lines[:len(lines):len(lines)], []byte(tail))...)
	}
}

// What is right by itself is refused all the same: an older end of the record, the
// event of another job, an event written anew, other forms of base64, a record
// without its blobs.
func TestWhatIsNoRecord(t *testing.T) {
	text := string(demoRecord(t))
	x := demoExport(t)
	lines := strings.SplitAfter(text, "\n")
	replaced := func(old, with string) string {
		changed := strings.Replace(text, old, with, 1)
		if changed == text {
			t.Fatalf("%.60q is not there", old)
		}
		return changed
	}
	rolledBack := x
	rolledBack.Events = x.Events[:len(x.Events)-1]
	short := string(written(t, rolledBack))
	other, _, err := Seal(Genesis(jobBoat), stamp(), createdVan())
	if err != nil {
		t.Fatal(err)
	}
	data := base64.StdEncoding.EncodeToString(x.Blobs[0])
	padded := strings.Index(data, "=")
	for name, c := range map[string]struct{ text, says string }{
		"nothing":                    {"", "ends before"},
		"something else":             {"job: 1\n", "no exported record"},
		"JSON":                       {"{}\n", "no exported record"},
		"a newer format":             {replaced(`"export":1`, `"export":2`), "newer version"},
		"no events":                  {replaced(`"events":`+strings.Split(strings.Split(lines[0], `"events":`)[1], ",")[0], `"events":0`), "no exported record"},
		"rolled back, its head kept": {strings.Split(text, "\n")[0] + "\n" + strings.SplitN(short, "\n", 2)[1], "line"},
		"an event of another job":    {lines[0] + string(other[0].Line()) + "\n" + strings.Join(lines[2:], ""), "belongs to the job"},
		"another case":               {replaced(`"events"`, `"Events"`), "no exported record"},
		"a member more":              {replaced(`{"blobs"`, `{"a":1,"blobs"`), "canonical form at byte 3"},
		"white space before it all":  {" " + text, "canonical form at byte 1"},
		"no job":                     {string(counts{1, 0, Hash{}}.header(uuid.Nil)) + "\n", "no exported record"},
		"the most events":            {string(counts{1 << 20, 0, Hash{}}.header(x.Job)) + "\n", "ends before"},
		"more events than the most":  {string(counts{1<<20 + 1, 0, Hash{}}.header(x.Job)) + "\n", "events is 1048577, want 0 to 1048576"},
		"fewer blobs than none":      {string(counts{1, -1, Hash{}}.header(x.Job)) + "\n", "blobs is -1, want"},
		"white space":                {replaced(`{"blobs":`, `{"blobs": `), "canonical"},
		"carriage returns":           {strings.ReplaceAll(text, "\n", "\r\n"), "canonical"},
		"no blobs":                   {strings.Join(lines[:len(x.Events)+1], ""), "ends before"},
		"a mark of byte order":       {"\ufeff" + text, "no exported record"},
		"base64 for addresses":       {replaced(`"data":"`+data[:4], `"data":"-`+data[1:4]), "illegal base64"},
		"base64 after a return":      {replaced(data[:40], "\r"+data[:40]), "carriage return"},
		"base64 with a return":       {replaced(data[:40], data[:20]+"\r"+data[20:40]), "carriage return"},
		"a first line without end":   {`{"export":1` + strings.Repeat("x", 4096), "more than the 512 bytes"},
		"another file, and a long":   {strings.Repeat("x", 4096), "no exported record"},
	} {
		_, err := ReadExport(strings.NewReader(c.text))
		if err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v, want %q", name, err, c.says)
		}
		var at *LineError
		foreign := slices.Contains([]string{"something else", "JSON", "another file, and a long"}, name)
		if !errors.As(err, &at) || at.Foreign != foreign {
			t.Errorf("%s: %+v, want it foreign: %t", name, at, foreign)
		}
	}
	if padded > 0 {
		// The bits that padding leaves over are zero: YWI= and not YWJ=.
		loose := []byte(data)
		loose[padded-1]++
		if _, err := ReadExport(strings.NewReader(replaced(data, string(loose)))); err == nil {
			t.Error("base64 with bits left over is taken")
		}
	}
}

func sampleExport(t testing.TB) Export {
	t.Helper()
	x, err := Gather(jobVan, sampleChain(t), sampleBlob)
	if err != nil {
		t.Fatal(err)
	}
	return x
}

// The line that is named is the first one that is wrong, or that is missing.
func TestTheWrongLineIsNamed(t *testing.T) {
	lines := bytes.SplitAfter(written(t, sampleExport(t)), []byte("\n"))
	lines = lines[:1+6+5] // the first line, the events, the blobs
	without := func(i int) [][]byte { return slices.Delete(slices.Clone(lines), i, i+1) }
	for _, c := range []struct {
		name string
		made [][]byte
		line int
	}{
		{"nothing", nil, 1},
		{"without the first line", without(0), 1},
		{"without the second event", without(2), 3},
		{"without the last event", without(6), 7},
		{"cut after three events", lines[:4], 5},
		{"without the first blob", without(7), 8},
		{"cut after two blobs", lines[:9], 10},
		{"a line behind the end", append(slices.Clone(lines), lines[11]), 13},
	} {
		_, err := ReadExport(bytes.NewReader(bytes.Join(c.made, nil)))
		var wrong *LineError
		if !errors.As(err, &wrong) || wrong.Line != c.line {
			t.Errorf("%s: got %v, want line %d", c.name, err, c.line)
		}
	}
}

// A line may have as many bytes as is said, and its line feed.
func TestLineOfAFileUpToItsLimit(t *testing.T) {
	f := exportReader{in: newReader([]byte("abcd\nabcde\n"))}
	if line, err := f.next(4); err != nil || string(line) != "abcd" {
		t.Errorf("got %q, %v", line, err)
	}
	if line, err := f.next(4); err == nil || err.Error() != "line 2: more than the 4 bytes that such a line may have" {
		t.Errorf("got %q, %v", line, err)
	}
}

// A record whose events name no blobs has none.
func TestRecordWithoutBlobs(t *testing.T) {
	x := Export{Job: jobVan, Events: mustSeal(t, Genesis(jobVan), Created{Asset: "VAN-07", Number: 1})}
	got, err := ReadExport(bytes.NewReader(written(t, x)))
	if err != nil || got.Head() != x.Head() || len(got.Blobs) != 0 {
		t.Errorf("got %v with %d blobs, %v", got.Head(), len(got.Blobs), err)
	}
}

// A chain that is older but whole is a record: only a copy of the head elsewhere
// tells that it has lost its end.
func TestAnOlderRecordIsOne(t *testing.T) {
	x := demoExport(t)
	x.Events = x.Events[:60]
	x, err := Gather(x.Job, x.Events, func(h Hash) ([]byte, error) {
		for _, b := range demoExport(t).Blobs {
			if b.Digest() == h {
				return b, nil
			}
		}
		return nil, errors.New("no such blob")
	})
	if err != nil {
		t.Fatal(err)
	}
	got, err := ReadExport(bytes.NewReader(written(t, x)))
	if err != nil || got.Head() != x.Head() {
		t.Errorf("%v, %v", got.Head(), err)
	}
}

func TestGatherRefuses(t *testing.T) {
	x := demoExport(t)
	if _, err := Gather(x.Job, x.Events[1:], nil); err == nil {
		t.Error("a record without its beginning is gathered")
	}
	if _, err := Gather(uuid.New(), x.Events, nil); err == nil {
		t.Error("a record of another job is gathered")
	}
	if _, err := Gather(x.Job, x.Events, func(Hash) ([]byte, error) { return []byte("x"), nil }); err == nil || !strings.Contains(err.Error(), "altered") {
		t.Errorf("altered blobs: %v", err)
	}
}

// What is taken is written again as the same bytes.
func FuzzReadExport(f *testing.F) {
	f.Add(written(f, sampleExport(f)))
	f.Add([]byte("{\"blobs\":0,\"events\":1,\"export\":1,\"head\":\"\",\"job\":\"\"}\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		x, err := ReadExport(bytes.NewReader(data))
		if err == nil && !bytes.Equal(written(t, x), data) {
			t.Fatalf("%q is taken, and written as %q", data, written(t, x))
		}
	})
}

func BenchmarkReadExport(b *testing.B) {
	text := demoRecord(b)
	b.SetBytes(int64(len(text)))
	for b.Loop() {
		if _, err := ReadExport(bytes.NewReader(text)); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkJSONAlone is what BenchmarkReadExport is held against: the same lines made
// values by encoding/json and digested, and nothing held against anything.
func BenchmarkJSONAlone(b *testing.B) {
	text := demoRecord(b)
	b.SetBytes(int64(len(text)))
	for b.Loop() {
		for line := range bytes.Lines(text) {
			var values map[string]any
			if err := json.Unmarshal(line, &values); err != nil {
				b.Fatal(err)
			}
			if digest := sha256.Sum256(line); digest == [32]byte{} {
				b.Fatal("no digest")
			}
		}
	}
}

func newReader(line []byte) *bufio.Reader { return bufio.NewReaderSize(bytes.NewReader(line), 1<<12) }

// What [ReadExport] would refuse for its size is not written.
func TestTooLargeToWrite(t *testing.T) {
	for name, x := range map[string]Export{
		"a blob":      {Blobs: []Blob{make(Blob, MaxBlob+1)}},
		"many events": {Events: make([]Event, mostExported+1)},
		"many blobs":  {Blobs: make([]Blob, mostExported+1)},
	} {
		var out bytes.Buffer
		if err := x.Write(&out); err == nil || out.Len() > 0 {
			t.Errorf("%s: %v, %d bytes written", name, err, out.Len())
		}
	}
}
