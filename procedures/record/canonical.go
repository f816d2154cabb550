package record

import (
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode/utf16"
	"unicode/utf8"
)

// MaxInteger is the largest magnitude of a number in canonical form: 2^53, up
// to which every integer is exact in IEEE 754 double precision (RFC 8785,
// appendix B).
const MaxInteger = 1 << 53

// Canonical gives the canonical form of v (RFC 8785), which may be anything
// that encoding/json can marshal. It refuses floats, numbers that are not
// integers within ±[MaxInteger], text that is not UTF-8, keys given twice, and
// nesting deeper than [MaxDepth]. A Go value of a float type is refused whatever
// it holds.
func Canonical(v any) ([]byte, error) {
	tree, err := treeOf(v)
	if err != nil {
		return nil, err
	}
	return appendTree(nil, tree), nil
}

// treeOf brings a Go value into the shapes that readJSON gives.
func treeOf(v any) (any, error) {
	if err := checkGo(v); err != nil {
		return nil, err
	}
	data, err := json.Marshal(v)
	if err != nil {
		return nil, err
	}
	return readJSON(data)
}

// appendTree writes a tree made by readJSON, which has already refused whatever
// has no canonical form.
func appendTree(dst []byte, tree any) []byte {
	switch t := tree.(type) {
	case object:
		return appendObject(dst, t)
	case []any:
		dst = append(dst, '[')
		for i, element := range t {
			if i > 0 {
				dst = append(dst, ',')
			}
			dst = appendTree(dst, element)
		}
		return append(dst, ']')
	case string:
		return appendText(dst, t)
	case int64:
		return strconv.AppendInt(dst, t, 10)
	case bool:
		return strconv.AppendBool(dst, t)
	}
	return append(dst, "null"...)
}

func appendObject(dst []byte, members object) []byte {
	keys := make([]string, 0, len(members))
	for key := range members {
		keys = append(keys, key)
	}
	slices.SortFunc(keys, compareUTF16)
	dst = append(dst, '{')
	for i, key := range keys {
		if i > 0 {
			dst = append(dst, ',')
		}
		dst = append(appendText(dst, key), ':')
		dst = appendTree(dst, members[key])
	}
	return append(dst, '}')
}

// compareUTF16 orders keys as RFC 8785 section 3.2.3 wants it: by UTF-16 code
// units, which puts U+1F600 (D83D DE00) before U+FB33 although its code point,
// and its UTF-8, come after.
func compareUTF16(a, b string) int {
	if isASCII(a) && isASCII(b) {
		return strings.Compare(a, b)
	}
	return slices.Compare(utf16.Encode([]rune(a)), utf16.Encode([]rune(b)))
}

func isASCII(s string) bool {
	for i := range len(s) {
		if s[i] >= utf8.RuneSelf {
			return false
		}
	}
	return true
}

const hexDigits = "0123456789abcdef"

// appendText writes a string with the escapes of RFC 8785 section 3.2.2.2 and
// no others.
func appendText(dst []byte, s string) []byte {
	dst = append(dst, '"')
	for i := range len(s) {
		c := s[i]
		switch {
		case c == '"' || c == '\\':
			dst = append(dst, '\\', c)
		case c >= ' ':
			dst = append(dst, c)
		case c == '\b':
			dst = append(dst, `\b`...)
		case c == '\t':
			dst = append(dst, `\t`...)
		case c == '\n':
			dst = append(dst, `\n`...)
		case c == '\f':
			dst = append(dst, `\f`...)
		case c == '\r':
			dst = append(dst, `\r`...)
		default:
			dst = append(dst, `\u00`...)
			dst = append(dst, hexDigits[c>>4], hexDigits[c&0xf])
		}
	}
	return append(dst, '"')
}

// parseInteger reads a JSON number that is an integer within ±MaxInteger.
func parseInteger(token string) (int64, error) {
	if strings.ContainsAny(token, ".eE") {
		return 0, fmt.Errorf("%s is not an integer", token)
	}
	n, err := strconv.ParseInt(token, 10, 64)
	if errors.Is(err, strconv.ErrRange) || n > MaxInteger || n < -MaxInteger {
		return 0, fmt.Errorf("%s is beyond ±2^53", token)
	}
	return n, err
}
