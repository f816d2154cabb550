package record

import (
	"bytes"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"fmt"
	"strconv"
	"time"
	"unicode/utf8"

	"github.com/google/uuid"
)

// Limits of an event.
const (
	MaxLine = 1 << 20 // bytes of a line
	maxBy   = 200     // bytes of a name
)

// Event is one thing that happened in a job. Events are made by [Seal] and
// [ParseLine]; the package comment has the ranges of the fields.
type Event struct {
	Job    uuid.UUID
	Seq    int64     // from 1
	At     time.Time // UTC, to the millisecond
	MonoMS int64     // ms on the monotonic clock of Run
	Run    uuid.UUID // process
	By     string
	Kind   Kind
	Body   json.RawMessage // object in canonical form
	Prev   Hash
	Hash   Hash
}

// Head names the chain up to and including this event.
func (e Event) Head() Head { return Head{Job: e.Job, Seq: e.Seq, Hash: e.Hash} }

const timeLayout = "2006-01-02T15:04:05.000Z"

// Line gives the event as it is exported: its canonical form, without a line
// end. It does not check the event; [ParseLine] reads it back only if it is
// sound.
func (e Event) Line() []byte { return e.appendLine(nil, true) }

// digest gives the hash that the event ought to carry.
func (e Event) digest() Hash { return sha256.Sum256(e.appendLine(nil, false)) }

// appendLine writes the members in the order of their keys, which is that of
// their bytes, since all are ASCII.
func (e Event) appendLine(dst []byte, withHash bool) []byte {
	dst = append(dst, `{"at":"`...)
	dst = e.At.UTC().AppendFormat(dst, timeLayout)
	dst = append(append(dst, `","body":`...), e.Body...)
	dst = appendText(append(dst, `,"by":`...), e.By)
	if withHash {
		dst = appendText(append(dst, `,"hash":`...), e.Hash.String())
	}
	dst = appendText(append(dst, `,"job":`...), e.Job.String())
	dst = appendText(append(dst, `,"kind":`...), string(e.Kind))
	dst = strconv.AppendInt(append(dst, `,"mono_ms":`...), e.MonoMS, 10)
	dst = appendText(append(dst, `,"prev":`...), e.Prev.String())
	dst = appendText(append(dst, `,"run":`...), e.Run.String())
	dst = strconv.AppendInt(append(dst, `,"seq":`...), e.Seq, 10)
	return append(dst, '}')
}

// ParseLine reads a line as [Event.Line] writes it. It refuses every line that
// does not equal its own re-encoding, or whose hash is not that of its
// contents; the package comment lists what that covers.
func ParseLine(line []byte) (Event, error) {
	if len(line) > MaxLine {
		return Event{}, fmt.Errorf("line of %d bytes, at most %d are read", len(line), MaxLine)
	}
	tree, err := readJSON(line)
	if err != nil {
		return Event{}, fmt.Errorf("line does not read: %w", err)
	}
	members, ok := tree.(object)
	if !ok {
		return Event{}, errors.New("line is not a JSON object")
	}
	if err := checkKeys(members); err != nil {
		return Event{}, err
	}
	e, err := eventOf(members)
	if err != nil {
		return Event{}, err
	}
	if at := firstDifference(line, e.Line()); at >= 0 {
		return Event{}, fmt.Errorf("line is not in canonical form at byte %d", at+1)
	}
	if want := e.digest(); e.Hash != want {
		return Event{}, fmt.Errorf("hash is %s, the contents give %s", e.Hash, want)
	}
	return e, nil
}

// firstDifference gives the first position at which a and b differ, or -1.
func firstDifference(a, b []byte) int {
	if bytes.Equal(a, b) {
		return -1
	}
	n := min(len(a), len(b))
	for i := range n {
		if a[i] != b[i] {
			return i
		}
	}
	return n
}

// eventOf takes the ten members out of a line. Members that are missing or of
// another type come out as zero values, which either are refused here or write
// another line than the one read.
func eventOf(members object) (Event, error) {
	m := fields{members: members}
	e := Event{
		Job:    parsed(&m, "job", uuid.Parse),
		Seq:    m.integer("seq"),
		At:     parsed(&m, "at", parseTime),
		MonoMS: m.integer("mono_ms"),
		Run:    parsed(&m, "run", uuid.Parse),
		By:     m.text("by"),
		Kind:   Kind(m.text("kind")),
		Body:   m.body(),
		Prev:   parsed(&m, "prev", ParseHash),
		Hash:   parsed(&m, "hash", ParseHash),
	}
	if m.err != nil {
		return Event{}, m.err
	}
	return e, e.check()
}

// check refuses values outside the ranges of the format.
func (e Event) check() error {
	switch {
	case e.Job == uuid.Nil:
		return errors.New("job is the zero UUID")
	case e.Seq < 1 || e.Seq > MaxInteger:
		return fmt.Errorf("seq is %d, want 1 to 2^53", e.Seq)
	case e.MonoMS < 0 || e.MonoMS > MaxInteger:
		return fmt.Errorf("mono_ms is %d, want 0 to 2^53", e.MonoMS)
	case e.At.Year() < 1970 || e.At.Year() > 9999:
		return fmt.Errorf("at is in the year %d, want 1970 to 9999", e.At.Year())
	case e.By == "":
		return errors.New("by is empty: nobody is named")
	case len(e.By) > maxBy || !utf8.ValidString(e.By):
		return fmt.Errorf("by is %.210q, want at most %d bytes of UTF-8", e.By, maxBy)
	case !e.Kind.wellFormed():
		return fmt.Errorf("kind is %.40q, want lower-case words, at most %d bytes", string(e.Kind), maxKind)
	}
	return nil
}

func parseTime(text string) (time.Time, error) {
	at, err := time.Parse(timeLayout, text)
	return at.UTC(), err
}

// fields takes typed values out of an object and keeps the first error.
type fields struct {
	members object
	err     error
}

func (f *fields) note(key string, format string, args ...any) {
	if f.err == nil {
		f.err = fmt.Errorf("%s %s", key, fmt.Sprintf(format, args...))
	}
}

func member[T any](f *fields, key, want string) T {
	v, given := f.members[key]
	t, ok := v.(T)
	switch {
	case !given:
		f.note(key, "is missing")
	case !ok:
		f.note(key, "is not %s", want)
	}
	return t
}

func (f *fields) text(key string) string   { return member[string](f, key, "text") }
func (f *fields) integer(key string) int64 { return member[int64](f, key, "an integer") }

func (f *fields) body() json.RawMessage {
	return appendTree(nil, member[object](f, "body", "an object"))
}

func parsed[T any](f *fields, key string, parse func(string) (T, error)) T {
	t, err := parse(f.text(key))
	if err != nil {
		f.note(key, "does not read: %v", err)
	}
	return t
}

// checkKeys refuses keys that could be taken for another one.
func checkKeys(tree any) error {
	switch t := tree.(type) {
	case object:
		for key, v := range t {
			if !wellFormedKey(key) {
				return fmt.Errorf("key %.40q, want a to z, 0 to 9 and underscores", key)
			}
			if err := checkKeys(v); err != nil {
				return err
			}
		}
	case []any:
		for _, v := range t {
			if err := checkKeys(v); err != nil {
				return err
			}
		}
	}
	return nil
}

func wellFormedKey(key string) bool {
	for i := range len(key) {
		c := key[i]
		letter := c >= 'a' && c <= 'z'
		if !letter && (i == 0 || c != '_' && (c < '0' || c > '9')) {
			return false
		}
	}
	return key != ""
}
