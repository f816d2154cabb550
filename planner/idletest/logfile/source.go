package logfile

import (
	"bytes"
	"errors"
	"io"

	"golang.org/x/text/encoding/unicode"
	"golang.org/x/text/transform"
)

const (
	firstBuffer = 128 << 10 // bytes
	bufferSize  = 1 << 20   // bytes; no line may be longer
	previewSize = 64 << 10
)

// lineSource gives the lines of a stream one by one, whatever ends them.
type lineSource struct {
	from  io.Reader
	buf   []byte
	start int // of what is not yet given
	end   int
	ended bool
	line  int // number of the line given last
	whole bool
}

// newLineSource looks at the first bytes for the encoding.
func newLineSource(r io.Reader) (*lineSource, string, error) {
	s := &lineSource{from: r, buf: make([]byte, firstBuffer), whole: true}
	for s.end < 4 && !s.ended {
		if err := s.fill(); err != nil {
			return nil, "", err
		}
	}
	first := s.buf[:s.end]
	switch {
	case bytes.HasPrefix(first, []byte{0x1f, 0x8b}):
		return nil, "", refuse(0, "unpack it first, with gunzip", "it is compressed with gzip")
	case bytes.HasPrefix(first, []byte("PK\x03\x04")):
		return nil, "", refuse(0, "save it as CSV or text first", "it is an archive or a spreadsheet")
	case bytes.HasPrefix(first, []byte{0xef, 0xbb, 0xbf}):
		s.start = 3
		return s, "UTF-8 with a mark", nil
	}
	order, name, mark := unicode.LittleEndian, "", unicode.IgnoreBOM
	switch {
	case bytes.HasPrefix(first, []byte{0xff, 0xfe}):
		name, mark = "UTF-16, low byte first", unicode.ExpectBOM
	case bytes.HasPrefix(first, []byte{0xfe, 0xff}):
		order, name, mark = unicode.BigEndian, "UTF-16, high byte first", unicode.ExpectBOM
	case len(first) >= 4 && first[0] != 0 && first[1] == 0 && first[2] != 0 && first[3] == 0:
		name = "UTF-16, low byte first"
	case len(first) >= 4 && first[0] == 0 && first[1] != 0 && first[2] == 0 && first[3] != 0:
		order, name = unicode.BigEndian, "UTF-16, high byte first"
	default:
		return s, "", nil
	}
	whole := io.MultiReader(bytes.NewReader(bytes.Clone(first)), s.rest())
	s.from = transform.NewReader(whole, unicode.UTF16(order, mark).NewDecoder())
	s.start, s.end, s.ended = 0, 0, false
	return s, name, nil
}

// rest gives what is not yet in the buffer.
func (s *lineSource) rest() io.Reader {
	if s.ended {
		return bytes.NewReader(nil)
	}
	return s.from
}

// fill reads on behind what is in the buffer, which is moved to its beginning.
func (s *lineSource) fill() error {
	if s.start > 0 {
		s.end = copy(s.buf, s.buf[s.start:s.end])
		s.start = 0
	}
	if s.end == len(s.buf) && len(s.buf) < bufferSize {
		s.buf = append(s.buf, make([]byte, len(s.buf))...)
	}
	if s.end == len(s.buf) {
		return refuse(s.line+1, "choose a log: text, one row a line", "a line longer than %d bytes", len(s.buf))
	}
	for range 100 { // readers may give nothing now and then
		n, err := s.from.Read(s.buf[s.end:])
		s.end += n
		if errors.Is(err, io.EOF) {
			s.ended = true
			return nil
		}
		if err != nil || n > 0 {
			return err
		}
	}
	return io.ErrNoProgress
}

// next gives the next line without its end; nil at the end of all. The line is good
// until the next call. Whole tells whether it had an end.
func (s *lineSource) next() ([]byte, error) {
	searched := 0
	for {
		rest := s.buf[s.start:s.end]
		at := bytes.IndexByte(rest[searched:], '\n')
		if at >= 0 {
			at += searched
			line := rest[:at]
			if cr := bytes.IndexByte(line, '\r'); cr >= 0 && cr < at-1 {
				return s.give(line[:cr], cr+1), nil // ends with CR alone
			} else if cr >= 0 {
				line = line[:cr]
			}
			return s.give(line, at+1), nil
		}
		// Without a line feed a CR ends a line, but for the last byte, which a line feed may follow.
		if cr := bytes.IndexByte(rest, '\r'); cr >= 0 && (cr < len(rest)-1 || s.ended) {
			return s.give(rest[:cr], cr+1), nil
		}
		if s.ended {
			if len(rest) == 0 {
				return nil, nil
			}
			line := s.give(rest, len(rest))
			s.whole = false
			return line, nil
		}
		searched = len(rest)
		if err := s.fill(); err != nil {
			return nil, err
		}
	}
}

func (s *lineSource) give(line []byte, used int) []byte {
	s.start += used
	s.line++
	return line[:len(line):len(line)]
}
