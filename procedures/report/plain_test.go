package report

import "testing"

func TestPlain(t *testing.T) {
	for text, want := range map[string]string{
		"Mara Quill":               "Mara Quill",
		"\x1b[31mred\x1b[0m":       "[31mred[0m",
		"one\ntwo\tthree\rfour":    "one two three four",
		"a\u202egnp.exe":           "agnp.exe",
		"bell\a and \x00 and \xff": "bell and  and ",
		"zero\u200bwidth":          "zerowidth",
		"one\u2028two\u2029three":  "one two three",
		"\u009b2J\x7f\U000e0041":   "2J",
		"Öl 40 °C":                 "Öl 40 °C",
	} {
		if got := Plain(text); got != want {
			t.Errorf("%q: got %q, want %q", text, got, want)
		}
	}
}
