package review

import (
	"bufio"
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"strings"
	"time"

	"golang.org/x/crypto/ssh"

	"daytank/procedures/record"
)

// Signer is one line of the file of those who may sign.
type Signer struct {
	Principals  string // patterns, with commas between them
	Key         ssh.PublicKey
	Fingerprint string // SHA256:...
	After       time.Time
	Before      time.Time // zero: no end
	Namespaces  string    // patterns; empty: any
	Comment     string
	Line        int
}

// Signers are those who may sign.
type Signers struct {
	File   string
	Digest string // SHA-256 of the file, hexadecimal
	All    []Signer
}

// ParseSigners reads a file of OpenSSH's allowed signers. Dates without a Z are in zone.
// The error names every line that does not read, as file:line: reason.
func ParseSigners(file string, text []byte, zone *time.Location) (Signers, error) {
	sum := sha256.Sum256(text)
	s := Signers{File: file, Digest: hex.EncodeToString(sum[:])}
	var wrong []error
	lines := bufio.NewScanner(bytes.NewReader(text))
	lines.Buffer(nil, 1<<20)
	for n := 1; lines.Scan(); n++ {
		line := strings.TrimSpace(lines.Text())
		if line == "" || strings.HasPrefix(line, "#") {
			continue
		}
		one, err := parseSigner(line, zone)
		if err != nil {
			wrong = append(wrong, fmt.Errorf("%s:%d: %w", file, n, err))
			continue
		}
		one.Line = n
		s.All = append(s.All, one)
	}
	return s, errors.Join(append(wrong, lines.Err())...)
}

func parseSigner(line string, zone *time.Location) (Signer, error) {
	var s Signer
	principals, rest, ok := word(line)
	if !ok || principals == "" {
		return s, errors.New("a line is: principals, options, key type and key")
	}
	s.Principals = principals
	key, comment, options, more, err := ssh.ParseAuthorizedKey([]byte(rest))
	switch {
	case err != nil:
		return s, fmt.Errorf("no key that reads: %w", err)
	case len(bytes.TrimSpace(more)) > 0:
		return s, errors.New("something stands behind the key")
	}
	s.Key, s.Comment, s.Fingerprint = key, comment, ssh.FingerprintSHA256(key)
	for _, option := range options {
		name, value, _ := strings.Cut(option, "=")
		value = strings.Trim(value, `"`)
		switch strings.ToLower(name) {
		case "namespaces":
			s.Namespaces = value
		case "valid-after":
			s.After, err = moment(value, zone)
		case "valid-before":
			s.Before, err = moment(value, zone)
		case "cert-authority":
			err = errors.New("cert-authority trusts whatever a key has certified, and is not taken here: name each key")
		default:
			err = fmt.Errorf("option %q is not known", name)
		}
		if err != nil {
			return s, err
		}
	}
	if !s.Before.IsZero() && !s.Before.After(s.After) {
		return s, errors.New("valid-before is not after valid-after")
	}
	return s, nil
}

// word takes the first word of a line, which may stand between quotation marks.
func word(line string) (first, rest string, ok bool) {
	if quoted, is := strings.CutPrefix(line, `"`); is {
		first, rest, ok = strings.Cut(quoted, `"`)
		return first, strings.TrimSpace(rest), ok
	}
	i := strings.IndexAny(line, " \t")
	if i < 0 {
		return line, "", false
	}
	return line[:i], strings.TrimSpace(line[i:]), true
}

// moment reads YYYYMMDD, YYYYMMDDHHMM or YYYYMMDDHHMMSS, in UTC with a Z behind it.
func moment(text string, zone *time.Location) (time.Time, error) {
	digits, utc := strings.CutSuffix(text, "Z")
	if utc {
		zone = time.UTC
	}
	for _, form := range []string{"20060102", "200601021504", "20060102150405"} {
		if len(form) != len(digits) {
			continue
		}
		if at, err := time.ParseInLocation(form, digits, zone); err == nil {
			return at, nil
		}
	}
	return time.Time{}, fmt.Errorf("%q is no moment: YYYYMMDD, YYYYMMDDHHMM or YYYYMMDDHHMMSS, with Z for UTC", text)
}

// Find gives the signer whose key signed for a principal at a time. The error says why
// there is none: what is wrong with the right key, before that it was another one.
func (s Signers) Find(principal string, key ssh.PublicKey, at time.Time) (Signer, error) {
	failure := fmt.Errorf("%s is not in the list of signers", principal)
	right := false // its key was found
	for _, one := range s.All {
		switch {
		case !matches(one.Principals, principal):
		case bytes.Equal(one.Key.Marshal(), key.Marshal()):
			why := one.refusal(at)
			if why == "" {
				return one, nil
			}
			if !right {
				failure = fmt.Errorf("this key of %s %s", principal, why)
			}
			right = true
		case !right:
			failure = fmt.Errorf("it was made with another key than that of %s in the list of signers", principal)
		}
	}
	return Signer{}, failure
}

// refusal says why a line lets nobody sign off jobs at a time; empty: it does.
func (s Signer) refusal(at time.Time) string {
	switch {
	case s.Namespaces != "" && !matches(s.Namespaces, record.SignatureNamespace):
		return "may not sign off jobs"
	case at.Before(s.After):
		return "was not valid yet: it is from " + s.After.UTC().Format(time.DateTime) + " UTC"
	case !s.Before.IsZero() && !at.Before(s.Before):
		return "was no longer valid: it was until " + s.Before.UTC().Format(time.DateTime) + " UTC"
	}
	return ""
}

// Valid tells whether a line lets somebody sign off jobs at a time.
func (s Signer) Valid(at time.Time) bool { return s.refusal(at) == "" }

// May tells whether somebody may sign at all at a time, by any key.
func (s Signers) May(principal string, at time.Time) bool {
	for _, one := range s.All {
		if _, err := s.Find(principal, one.Key, at); err == nil {
			return true
		}
	}
	return false
}

// matches tells whether a name is in a list of patterns with * and ?; one that begins
// with ! keeps out.
func matches(patterns, name string) bool {
	found := false
	for _, p := range strings.Split(patterns, ",") {
		p, not := strings.CutPrefix(strings.TrimSpace(p), "!")
		if !like(p, name) {
			continue
		}
		if not {
			return false
		}
		found = true
	}
	return found
}

func like(pattern, name string) bool {
	for pattern != "" {
		switch pattern[0] {
		case '*':
			for i := len(name); i >= 0; i-- {
				if like(pattern[1:], name[i:]) {
					return true
				}
			}
			return false
		case '?':
			if name == "" {
				return false
			}
		default:
			if name == "" || name[0] != pattern[0] {
				return false
			}
		}
		pattern, name = pattern[1:], name[1:]
	}
	return name == ""
}
