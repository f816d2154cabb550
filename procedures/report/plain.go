package report

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// Plain gives a text as it can be shown: on one line, without control
// characters, bidirectional marks or bytes that are not text.
func Plain(text string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r == utf8.RuneError, unicode.Is(unicode.Bidi_Control, r):
			return -1
		case r == '\n', r == '\t', r == '\r':
			return ' '
		case unicode.IsControl(r), unicode.Is(unicode.Cf, r):
			return -1
		}
		return r
	}, text)
}
