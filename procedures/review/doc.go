// Package review is what a supervisor must see of a job who was not there, and what
// their sign-off is worth.
//
// # Words
//
// An item is one thing to look at: an alarm and what followed, a hold point that no
// second person released, a step much faster than it can be. A sign-off is one of two:
// work, that the vehicle is fit to go back on the road, and result, after the after-test.
// A standing is what a sign-off is worth now: valid, void by a later change, or not to be
// trusted, with the reason. Signers are those who may sign.
//
// # Signatures
//
// A sign-off is an SSH signature (PROTOCOL.sshsig of OpenSSH) in the namespace
// [record.SignatureNamespace] over [record.SignOff.Bytes]. Anyone can check one with
// ssh-keygen -Y verify. It covers the chain up to the event before it, and so everything
// that the record rests on: a record that was rewritten as a whole has other hashes.
//
// Who may sign stands in a file of OpenSSH's form (ssh-keygen(1), ALLOWED SIGNERS):
// principals, options, key. Of the options namespaces, valid-after and valid-before are
// followed; a line with cert-authority, which would trust every certificate of a key, is
// not taken, and said.
//
// # What is refused
//
// A sign-off by somebody who did work of the same job; one whose key is not that of its
// principal, or not valid at its time, or for another namespace; one that was made for
// another job or another head. What comes after a sign-off and changes a step voids it;
// a test, a note, a photo or an explanation does not, and is shown as later.
//
// The package reads no clock, disk or terminal; keys are used by whoever holds them.
package review
