package record

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"

	"github.com/google/uuid"
)

// Hash is a SHA-256. As text it is 64 lower-case hexadecimal digits.
type Hash [sha256.Size]byte

// String gives the 64 lower-case hexadecimal digits.
func (h Hash) String() string { return hex.EncodeToString(h[:]) }

// IsZero reports whether no hash was set; 64 zeros mean that nothing was kept.
func (h Hash) IsZero() bool { return h == Hash{} }

// ParseHash reads what [Hash.String] writes. It refuses any other length and
// upper-case digits.
func ParseHash(text string) (Hash, error) {
	var h Hash
	if len(text) != hex.EncodedLen(len(h)) {
		return Hash{}, fmt.Errorf("hash of %d characters, want %d", len(text), hex.EncodedLen(len(h)))
	}
	for i := range len(text) {
		if c := text[i]; (c < '0' || c > '9') && (c < 'a' || c > 'f') {
			return Hash{}, fmt.Errorf("hash: %q at character %d is no lower-case hexadecimal digit", c, i+1)
		}
	}
	_, err := hex.Decode(h[:], []byte(text))
	return h, err
}

// MarshalText writes the hash as in [Hash.String].
func (h Hash) MarshalText() ([]byte, error) { return []byte(h.String()), nil }

// UnmarshalText reads the hash as in [ParseHash].
func (h *Hash) UnmarshalText(text []byte) error {
	parsed, err := ParseHash(string(text))
	if err != nil {
		return err
	}
	*h = parsed
	return nil
}

// Blob is something a job rested on, kept under its digest: a resolved job, a
// plan, a photo, a log file.
type Blob []byte

// Digest gives the SHA-256 of the bytes.
func (b Blob) Digest() Hash { return sha256.Sum256(b) }

// Head names the last event of a chain.
type Head struct {
	Job  uuid.UUID
	Seq  int64 // number of events; 0 for a chain that has not begun
	Hash Hash  // of the last event; of the job's UUID as text when Seq is 0
}

// Genesis gives the head of a job without events. Its hash is the SHA-256 of
// the UUID as lower-case text with hyphens.
func Genesis(job uuid.UUID) Head {
	return Head{Job: job, Hash: sha256.Sum256([]byte(job.String()))}
}
