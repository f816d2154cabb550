package report

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// Plain gives a text as it can be shown: on one line, without characters that are
// [Unseen] or bytes that are not text.
func Plain(text string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r == '\n', r == '\t', r == '\r', unicode.In(r, unicode.Zl, unicode.Zp):
			return ' '
		case r == utf8.RuneError, Unseen(r):
			return -1
		}
		return r
	}, text)
}

// Unseen tells of a character that has no look of its own, and that a terminal obeys or that
// changes how others are read: controls, bidirectional marks, zero-width ones, ends of lines.
func Unseen(r rune) bool {
	if r < unicode.MaxASCII {
		return r < ' '
	}
	return unicode.IsControl(r) || unicode.In(r, unicode.Cf, unicode.Zl, unicode.Zp)
}
