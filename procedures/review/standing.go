package review

import (
	"bytes"
	"crypto/rsa"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/hiddeco/sshsig"
	"golang.org/x/crypto/ssh"

	"daytank/procedures/record"
)

// Standing is what a sign-off of a record is worth.
type Standing struct {
	Seq      int64
	SignOff  record.SignOff
	Armored  string   // signature
	Key      string   // fingerprint; empty without a signature that reads
	Problem  string   // why it is not to be trusted; empty: it is
	VoidBy   int64    // event that changed what was signed; 0: none
	Later    []int64  // events after it that change nothing of it
	Released []string // hold points that the signer released
}

// Valid tells whether it is to be trusted and still stands.
func (s Standing) Valid() bool { return s.Problem == "" && s.VoidBy == 0 }

// Words says it in a sentence.
func (s Standing) Words() string {
	said := fmt.Sprintf("%s signed by %s on %s: %s", s.SignOff.Which, s.SignOff.Principal, s.SignOff.At.Format(time.DateOnly), s.SignOff.Verdict)
	switch {
	case s.Problem != "":
		return said + ". NOT TO BE TRUSTED: " + s.Problem
	case s.VoidBy > 0:
		return said + fmt.Sprintf(". VOID: event %d changed what was signed", s.VoidBy)
	case len(s.Later) > 0:
		said += fmt.Sprintf("; %d entries came after it", len(s.Later))
	}
	if len(s.Released) > 0 {
		said += "; the signer also released " + strings.Join(s.Released, ", ")
	}
	return said
}

// clocksApart is how far the clocks of two machines may be apart: a sign-off that is dated
// longer before the entry it follows was not made when it says.
const clocksApart = 10 * time.Minute

// ErrNoSigners says that nobody's signature can be trusted, because there is no list.
var ErrNoSigners = errors.New("there is no list of signers to check it against")

// Standings gives what the sign-offs of a record are worth, in their order. Signers nil:
// there is no list, and none is trusted.
func Standings(events []record.Event, signers *Signers) ([]Standing, error) {
	var all []Standing
	workers := Workers(events)
	for i, e := range events {
		if e.Kind != record.KindSigned {
			continue
		}
		signed, armored, err := record.SignOffOf(e)
		if err != nil {
			return all, err
		}
		s := Standing{Seq: e.Seq, SignOff: signed, Armored: armored}
		s.Key, err = Check(signed, armored, signers)
		if err == nil && i > 0 && signed.At.Before(events[i-1].At.Add(-clocksApart)) {
			err = fmt.Errorf("it is dated %s, before the entry that it follows, of %s", signed.At.Format(time.DateTime), events[i-1].At.Format(time.DateTime))
		}
		if err == nil && Worked(workers, signed.Principal) {
			err = fmt.Errorf("%s did work of this job, and cannot sign it", signed.Principal)
		}
		if err != nil {
			s.Problem = err.Error()
		}
		s.after(events[i+1:])
		if s.Released, err = released(events[:i], signed.Principal); err != nil {
			return all, err
		}
		all = append(all, s)
	}
	return all, nil
}

// Check holds an armored signature against what was signed and the list of signers. It
// gives the fingerprint of the key.
func Check(signed record.SignOff, armored string, signers *Signers) (string, error) {
	if armored == "" {
		return "", errors.New("it has no signature")
	}
	sig, err := sshsig.Unarmor([]byte(armored))
	if err != nil {
		return "", fmt.Errorf("its signature does not read: %w", err)
	}
	key := ssh.FingerprintSHA256(sig.PublicKey)
	text, err := signed.Bytes()
	if err != nil {
		return key, err
	}
	if k, is := sig.PublicKey.(ssh.CryptoPublicKey); is {
		if short, is := k.CryptoPublicKey().(*rsa.PublicKey); is && short.Size()*8 < leastRSA {
			return key, fmt.Errorf("its key is too short: %d bits, at least %d are wanted", short.Size()*8, leastRSA)
		}
	}
	if sig.Namespace != record.SignatureNamespace {
		return key, fmt.Errorf("its signature is for %q and not for signing off jobs", sig.Namespace)
	}
	if err := sshsig.Verify(bytes.NewReader(text), sig, sig.PublicKey, sig.HashAlgorithm, record.SignatureNamespace); err != nil {
		return key, errors.New("its signature is of something else: another job, another head, or other words")
	}
	if signers == nil {
		return key, ErrNoSigners
	}
	_, err = signers.Find(signed.Principal, sig.PublicKey, signed.At)
	return key, err
}

// leastRSA is how long an RSA key must be, in bits, as OpenSSH makes them at the least by
// default since its version 9.
const leastRSA = 2048

// Sign makes the armored signature of a sign-off.
func Sign(signed record.SignOff, key ssh.Signer) (string, error) {
	text, err := signed.Bytes()
	if err != nil {
		return "", err
	}
	sig, err := sshsig.Sign(bytes.NewReader(text), key, sshsig.HashSHA512, record.SignatureNamespace)
	if err != nil {
		return "", err
	}
	return string(sshsig.Armor(sig)), nil
}

// changing are the kinds that change what was signed.
var changing = map[record.Kind]bool{
	record.KindReplanned: true, record.KindStepStarted: true, record.KindStepDone: true, record.KindStepSkipped: true, record.KindStepReopened: true,
	record.KindCleared: true, record.KindValue: true, record.KindChoice: true, record.KindTimer: true,
	record.KindRunStarted: true, record.KindReading: true, record.KindObservation: true, record.KindAlarm: true, record.KindStage: true, record.KindRunEnded: true,
	record.KindCorrected: true, record.KindDeviation: true, record.KindAmended: true, record.KindHoldReleased: true, record.KindEmergency: true,
	record.KindRecalled: true, record.KindTranscribed: true,
}

// after takes the events that follow a sign-off. The sign-off of the other half, which
// is in order, changes nothing.
func (s *Standing) after(events []record.Event) {
	for _, e := range events {
		switch {
		case e.Kind == record.KindSentBack:
			if b, _ := record.As[record.SentBack](e); b.Which == s.SignOff.Which && s.VoidBy == 0 {
				s.VoidBy = e.Seq
			}
		case changing[e.Kind] && s.VoidBy == 0:
			s.VoidBy = e.Seq
		case e.Kind == record.KindSigned:
			if again, _ := record.As[record.Signed](e); again.Which == s.SignOff.Which && s.VoidBy == 0 {
				s.Later = append(s.Later, e.Seq)
			}
		case !changing[e.Kind]:
			s.Later = append(s.Later, e.Seq)
		}
	}
}

// byOperator are the kinds that whoever did the work leaves behind.
var byOperator = map[record.Kind]bool{
	record.KindStepStarted: true, record.KindStepDone: true, record.KindStepSkipped: true, record.KindAcknowledged: true,
	record.KindCleared: true, record.KindValue: true, record.KindChoice: true, record.KindTimer: true, record.KindRunStarted: true,
	record.KindReading: true, record.KindObservation: true, record.KindStage: true, record.KindRunEnded: true,
	record.KindCorrected: true, record.KindDeviation: true, record.KindAmended: true, // what stands there is theirs
}

// Workers gives those who did work of a job, in the order they began.
func Workers(events []record.Event) []string {
	var names []string
	for _, e := range events {
		if byOperator[e.Kind] && !slices.Contains(names, e.By) {
			names = append(names, e.By)
		}
		if e.Kind == record.KindTranscribed {
			if b, err := record.As[record.Transcribed](e); err == nil && b.Who != "" && !slices.Contains(names, b.Who) {
				names = append(names, b.Who)
			}
		}
	}
	return names
}

// Worked tells whether somebody is one of those who did work.
func Worked(names []string, principal string) bool {
	return slices.ContainsFunc(names, func(n string) bool { return sameName(n, principal) })
}

// sameName tells whether two names are the same but for case and spaces.
func sameName(a, b string) bool {
	return strings.EqualFold(strings.Join(strings.Fields(a), " "), strings.Join(strings.Fields(b), " "))
}

// released gives the hold points that somebody released.
func released(events []record.Event, principal string) ([]string, error) {
	var steps []string
	for _, e := range events {
		if e.Kind != record.KindHoldReleased {
			continue
		}
		b, err := record.As[record.HoldReleased](e)
		if err != nil {
			return nil, err
		}
		if sameName(b.By, principal) && !slices.Contains(steps, b.Step) {
			steps = append(steps, b.Step)
		}
	}
	return steps, nil
}
