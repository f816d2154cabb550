package record

import (
	"bufio"
	"bytes"
	"encoding/base64"
	"errors"
	"fmt"
	"io"
	"strconv"

	"github.com/google/uuid"
)

// Export is a whole record: what can be verified without the store that it came
// from. The package comment has its form as a file.
type Export struct {
	Job    uuid.UUID
	Events []Event
	Blobs  []Blob // in the order in which the events first name them, each once
}

// Head gives the head of the chain.
func (x Export) Head() Head {
	if len(x.Events) == 0 {
		return Genesis(x.Job)
	}
	return x.Events[len(x.Events)-1].Head()
}

// exportFormat is the number of the form of an exported file.
const exportFormat = 1

// MaxBlob is what a blob may have at most in an exported file, in bytes.
const MaxBlob = 64 << 20

// mostExported is how many events or blobs an exported file may have.
const mostExported = 1 << 20

// Gather makes an export of a chain, its blobs taken from a store.
func Gather(job uuid.UUID, events []Event, blob func(Hash) ([]byte, error)) (Export, error) {
	x := Export{Job: job, Events: events}
	if err := Verify(job, events, nil); err != nil {
		return x, err
	}
	for _, digest := range namedBlobs(events) {
		data, err := blob(digest)
		if err != nil {
			return x, fmt.Errorf("blob %s: %w", digest, err)
		}
		if got := Blob(data).Digest(); got != digest {
			return x, fmt.Errorf("blob %s is altered: its bytes have the digest %s", digest, got)
		}
		x.Blobs = append(x.Blobs, data)
	}
	return x, nil
}

// namedBlobs gives the digests that events name, in order, each once.
func namedBlobs(events []Event) []Hash {
	var all []Hash
	seen := map[Hash]bool{}
	for _, e := range events {
		for _, h := range e.Blobs() {
			if !seen[h] {
				seen[h] = true
				all = append(all, h)
			}
		}
	}
	return all
}

// counts is what the first line says of the rest.
type counts struct {
	events, blobs int
	head          Hash
}

// header gives the first line.
func (c counts) header(job uuid.UUID) []byte {
	line := strconv.AppendInt([]byte(`{"blobs":`), int64(c.blobs), 10)
	line = strconv.AppendInt(append(line, `,"events":`...), int64(c.events), 10)
	line = strconv.AppendInt(append(line, `,"export":`...), exportFormat, 10)
	line = appendText(append(line, `,"head":`...), c.head.String())
	return append(appendText(append(line, `,"job":`...), job.String()), '}')
}

func (b Blob) line() []byte {
	line := appendText([]byte(`{"blob":`), b.Digest().String())
	line = append(line, `,"data":"`...)
	line = base64.StdEncoding.AppendEncode(line, b)
	return append(line, `"}`...)
}

// Write writes the file. The error is that of the writer, or says that the record has more
// than a file may hold: nothing is written then.
func (x Export) Write(w io.Writer) error {
	if len(x.Events) > mostExported || len(x.Blobs) > mostExported {
		return fmt.Errorf("job %s: %d events and %d blobs, of which a file may have %d each", x.Job, len(x.Events), len(x.Blobs), mostExported)
	}
	for _, b := range x.Blobs {
		if len(b) > MaxBlob {
			return fmt.Errorf("job %s: blob %s has %d bytes, and a file may have %d of each", x.Job, b.Digest(), len(b), MaxBlob)
		}
	}
	out := bufio.NewWriter(w)
	put := func(line []byte) {
		out.Write(line) // an error stays until Flush
		out.WriteByte('\n')
	}
	put(counts{len(x.Events), len(x.Blobs), x.Head().Hash}.header(x.Job))
	for _, e := range x.Events {
		put(e.Line())
	}
	for _, b := range x.Blobs {
		put(b.line())
	}
	return out.Flush()
}

// LineError says which line of an exported file is not what was written.
type LineError struct {
	Line    int // from 1
	Reason  string
	Foreign bool // nothing in the first line is of an exported record: it is a file of another kind
}

// Error names the line and the reason.
func (e *LineError) Error() string { return fmt.Sprintf("line %d: %s", e.Line, e.Reason) }

// ReadExport reads a file as [Export.Write] writes it and verifies the record in
// it. Every other sequence of bytes is refused, with a [*LineError]; the error is
// another one only where reading fails. What it takes is written again as the same
// bytes. It holds the events and blobs in memory and not more than the largest
// line besides.
func ReadExport(r io.Reader) (Export, error) {
	f := exportReader{in: bufio.NewReaderSize(r, 1<<16)}
	x, counts, err := f.header()
	if err != nil {
		return Export{}, err
	}
	head := Genesis(x.Job)
	for range counts.events {
		if head, err = f.event(&x, head); err != nil {
			return Export{}, err
		}
	}
	if head.Hash != counts.head {
		return Export{}, f.wrong("the record ends with %s, and the first line says %s", head.Hash, counts.head)
	}
	named := namedBlobs(x.Events)
	if len(named) != counts.blobs {
		return Export{}, f.wrong("the events name %d blobs, and the first line says %d", len(named), counts.blobs)
	}
	for _, digest := range named {
		if err := f.blob(&x, digest); err != nil {
			return Export{}, err
		}
	}
	if _, err := f.in.ReadByte(); !errors.Is(err, io.EOF) {
		f.line++
		return Export{}, f.wrong("stands after the end of the record")
	}
	return x, nil
}

// exportReader reads an exported file line by line.
type exportReader struct {
	in   *bufio.Reader
	line int
}

func (f *exportReader) wrong(format string, args ...any) error {
	return &LineError{Line: f.line, Reason: fmt.Sprintf(format, args...)}
}

// next gives the next line without its end; most is how long it may be.
func (f *exportReader) next(most int) ([]byte, error) {
	f.line++
	var line []byte
	for {
		part, err := f.in.ReadSlice('\n')
		line = append(line, part...)
		switch {
		case len(line) > most+1:
			return nil, f.wrong("more than the %d bytes that such a line may have", most)
		case err == nil:
			return line[:len(line)-1], nil
		case errors.Is(err, bufio.ErrBufferFull):
		case errors.Is(err, io.EOF):
			return nil, f.wrong("the file ends before the record does")
		default:
			return nil, fmt.Errorf("line %d: %w", f.line, err)
		}
	}
}

const longestHeader = 512 // bytes

func (f *exportReader) header() (Export, counts, error) {
	// Two of its words, so that no single change makes a damaged record a foreign file.
	begins, _ := f.in.Peek(longestHeader)
	if len(begins) > 0 && !bytes.Contains(begins, []byte(`"export"`)) && !bytes.Contains(begins, []byte(`"events"`)) {
		return Export{}, counts{}, &LineError{Line: 1, Reason: "this is no exported record", Foreign: true}
	}
	line, err := f.next(longestHeader)
	if err != nil {
		return Export{}, counts{}, err
	}
	tree, err := readJSON(line)
	if err != nil {
		return Export{}, counts{}, f.wrong("this is no exported record: %v", err)
	}
	members, ok := tree.(object)
	if !ok {
		return Export{}, counts{}, f.wrong("this is no exported record")
	}
	m := fields{members: members}
	format := m.integer("export")
	x := Export{Job: parsed(&m, "job", uuid.Parse)}
	c := counts{events: count(&m, "events"), blobs: count(&m, "blobs"), head: parsed(&m, "head", ParseHash)}
	switch {
	case m.err != nil:
		return Export{}, counts{}, f.wrong("this is no exported record: %v", m.err)
	case format > exportFormat:
		return Export{}, counts{}, f.wrong("format %d was written by a newer version of this program", format)
	case format != exportFormat || x.Job == uuid.Nil || c.events == 0:
		return Export{}, counts{}, f.wrong("this is no exported record")
	}
	if at := firstDifference(line, c.header(x.Job)); at >= 0 {
		return Export{}, counts{}, f.wrong("not in canonical form at byte %d", at+1)
	}
	return x, c, nil
}

func count(m *fields, key string) int {
	n := m.integer(key)
	if n < 0 || n > mostExported {
		m.note(key, "is %d, want 0 to %d", n, mostExported)
		return 0
	}
	return int(n)
}

func (f *exportReader) event(x *Export, head Head) (Head, error) {
	line, err := f.next(MaxLine)
	if err != nil {
		return head, err
	}
	e, err := ParseLine(line)
	if err != nil {
		return head, f.wrong("%v", err)
	}
	next, err := head.Follow(e)
	if err != nil {
		return head, f.wrong("%v", err)
	}
	x.Events = append(x.Events, e)
	return next, nil
}

func (f *exportReader) blob(x *Export, digest Hash) error {
	line, err := f.next(len(`{"blob":"","data":""}`) + 64 + base64.StdEncoding.EncodedLen(MaxBlob))
	if err != nil {
		return err
	}
	begin := append(appendText([]byte(`{"blob":`), digest.String()), `,"data":"`...)
	text, found := bytes.CutPrefix(line, begin)
	text, ended := bytes.CutSuffix(text, []byte(`"}`))
	if !found || !ended {
		return f.wrong("not the blob %s, which stands here", digest)
	}
	// The decoder leaves out line feeds, which a line has none of, and carriage
	// returns.
	if bytes.IndexByte(text, '\r') >= 0 {
		return f.wrong("a carriage return stands in a blob")
	}
	data := make([]byte, base64.StdEncoding.DecodedLen(len(text)))
	n, err := base64.StdEncoding.Strict().Decode(data, text)
	if err != nil {
		return f.wrong("blob %s: %v", digest, err)
	}
	b := Blob(data[:n])
	if got := b.Digest(); got != digest {
		return f.wrong("blob %s is altered: its bytes have the digest %s", digest, got)
	}
	x.Blobs = append(x.Blobs, b)
	return nil
}
