package logfile

import (
	"bytes"
	"io"
	"math"
	"unicode/utf8"
)

// Reader reads one log.
type Reader struct {
	source *lineSource
	layout Layout
	ahead  []headLine // lines that the guess has seen and that are not yet read
}

// Open looks at the beginning of a log. It gives an [Error] where the log is none
// that can be read.
func Open(r io.Reader) (*Reader, error) {
	source, encoding, err := newLineSource(r)
	if err != nil {
		return nil, err
	}
	reader := &Reader{source: source}
	var lines []headLine
	size := 0
	for len(lines) < headerWithin+previewLines && size < previewSize {
		text, err := source.next()
		if err != nil {
			return nil, err
		}
		if text == nil {
			break
		}
		if bytes.IndexByte(text, 0) >= 0 {
			return nil, binary(source.line)
		}
		size += len(text)
		line := headLine{number: source.line, text: bytes.Clone(text)}
		reader.ahead = append(reader.ahead, line)
		if encoding == "" && !utf8.Valid(text) {
			encoding = "Latin-1"
		}
		if encoding == "Latin-1" {
			line.text = []byte(valid(string(line.text)))
		}
		if bare, note := comment(line.text); note {
			line.text, line.note = bare, true
		}
		if len(bytes.TrimSpace(line.text)) > 0 {
			lines = append(lines, line)
		}
	}
	if encoding == "" {
		encoding = "UTF-8"
	}
	layout, err := look(lines)
	if err != nil {
		return nil, err
	}
	layout.Encoding = encoding
	reader.layout = layout
	return reader, layout.checkUnits()
}

// Layout gives what the beginning tells.
func (r *Reader) Layout() Layout { return r.layout }

func binary(line int) error {
	return refuse(line, "choose a log: text, one row a line", "bytes that are no text: is this file binary or damaged?")
}

// comment takes the sign of a comment off a line.
func comment(line []byte) ([]byte, bool) {
	trimmed := bytes.TrimSpace(line)
	for _, sign := range []string{"#", "//", "%"} {
		if bytes.HasPrefix(trimmed, []byte(sign)) {
			return bytes.TrimSpace(bytes.TrimLeft(trimmed, sign)), true
		}
	}
	return line, false
}

// target is what becomes of a column's cells.
type target struct {
	lane    int  // -1: not taken
	at      int  // place in a row; what is not taken goes to the last, which nobody reads
	time    bool // of the lane
	clocked bool // a time that is no plain number
	unit    unit
	usual   usual
	clock   Clock
}

// anything is the range of what is not judged.
var anything = usual{math.Inf(-1), math.Inf(1)}

// Read reads the rows by the layout with the mapping on it, and reduces them to the
// samples of a test. With doubts left it refuses.
func (r *Reader) Read(m Mapping) (*Log, error) {
	layout, err := r.layout.With(m)
	if err != nil {
		return nil, err
	}
	if len(layout.Doubts) > 0 {
		return nil, &Doubtful{Layout: layout}
	}
	p := &pass{layout: layout}
	if err := p.prepare(m); err != nil {
		return nil, err
	}
	sorted := p.sort()
	err = r.rows(p)
	if wrong := sorted(); wrong != nil { // of a row before the one that err is about
		err = wrong
	}
	if err != nil {
		return nil, err
	}
	return p.finish()
}

// rows reads all rows, those that the guess has seen first.
func (r *Reader) rows(p *pass) error {
	for _, line := range r.ahead {
		if line.number < p.layout.FirstLine {
			continue
		}
		whole := line.number < r.source.line || r.source.whole
		if err := p.take(line.text, line.number, whole); err != nil {
			return err
		}
	}
	r.ahead = nil
	for !p.stopped.Load() {
		line, err := r.source.next()
		if err != nil || line == nil {
			return err
		}
		if err := p.take(line, r.source.line, r.source.whole); err != nil {
			return err
		}
	}
	return nil
}

// Doubtful says that the guess is not certain and has to be settled by a mapping.
type Doubtful struct{ Layout Layout }

// Error gives the first doubt.
func (d *Doubtful) Error() string { return d.Layout.Doubts[0] }
