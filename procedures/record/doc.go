// Package record is the memory of a job: an append-only list of events in
// which every event carries the hash of the one before it. Plans, summaries
// and reports can be rebuilt from it; it cannot be rebuilt from them.
//
// This comment is the specification of the format. Package store keeps the
// lines described here; an exported file consists of them.
//
// # Words
//
// An event is one thing that happened in a job. The chain is the list of a
// job's events in order. The head is the last event, named by its place and
// hash. A body is what an event says beyond who, when and where; its kind says
// how to read it. A blob is something the job rested on (its plan, a photo),
// kept once under its digest. To seal is to turn bodies into events that follow
// a head. Damage is the first place at which a chain is not what was sealed.
//
// # A line
//
// An event is one line of text: a JSON object of exactly these ten members, in
// the canonical form below.
//
//	at       text     moment, UTC, to the millisecond: 2026-03-14T09:26:53.589Z
//	body     object   what happened, read according to kind
//	by       text     name of the person, 1 to 200 bytes
//	hash     text     SHA-256, 64 lower-case hexadecimal digits
//	job      text     UUID of the job, lower case, with hyphens; not the zero one
//	kind     text     lower-case words, single spaces between them, at most 32 bytes
//	mono_ms  integer  ms on the monotonic clock of the process, from 0
//	prev     text     hash of the event before
//	run      text     UUID of the process; the zero one where no process was there
//	seq      integer  place in the chain, from 1
//
// hash is the SHA-256 of the canonical form of the object without its member
// hash. prev of the first event is the SHA-256 of the job's UUID written as
// text, so that the first event of one job cannot stand in another. The years
// are 1970 to 9999.
//
// Every key in an event, at any depth, is made of a to z, 0 to 9 and the
// underscore, and begins with a letter. No two keys can then differ by case
// alone, which common JSON decoders overlook.
//
// # Canonical form
//
// RFC 8785, JSON Canonicalization Scheme, over a part of JSON: objects, arrays,
// text, true, false, null, and integers from -2^53 to 2^53. Members are ordered
// by the UTF-16 code units of their keys (section 3.2.3); text is escaped only
// where it must be (section 3.2.2.2); there is no white space. A quantity is an
// integer in a fixed unit that its key names (_ul, _mk, _ms), or the decimal
// text that was entered or read, kept as it was. Fractions and exponents are
// refused: two programs may print the same one differently.
//
// A line is accepted only if it equals its own re-encoding, byte for byte. That
// refuses keys given twice, keys in another order, other escapes, white space,
// 1.0, -0 and text that is not UTF-8, each of which some decoder would take.
//
// # Rules of change
//
// A kind is never renamed, reordered or given another meaning. New members of a
// body are optional, absent when empty, and older programs leave them alone: the
// body is kept as it was written, and [As] looks only at what it knows. A kind
// that this program does not know is kept, hashed and passed on; [Kind.Known]
// tells. The ten members of a line do not change.
//
// # Blobs
//
// A blob is any bytes; its digest is their SHA-256. The bodies of created,
// replanned, photo and test added name blobs, and a chain is whole only with
// them. A digest of 64 zeros says that nothing was kept.
//
// # An exported file
//
// One record, UTF-8, each line ended by a line feed, the last one too. The first
// line is a JSON object in canonical form of exactly these five members:
//
//	blobs   integer  how many lines of blobs there are
//	events  integer  how many lines of events there are, from 1
//	export  integer  1
//	head    text     hash of the last event
//	job     text     UUID of the job
//
// Then come the events in their order, as lines; then the blobs that they name,
// in the order in which they first name them and each once, as objects of the two
// members blob, the digest, and data, the bytes in base64 (RFC 4648 section 4,
// padded, no bits left over that are not zero). [ReadExport] takes nothing else:
// a file that has lost its end, or has lines in another order, is refused, and so
// is one with a line of another job.
//
// # What is refused
//
// [Seal] and [ParseLine] refuse everything outside the above, and lines over
// [MaxLine]. [Verify] names the first event that does not belong: of another
// job, out of its place, not following the one before, altered, unreadable for
// its kind, or resting on a blob that is missing or altered. Who wrote an event
// it cannot know: somebody with the whole file can seal another chain. That is
// what a copy of the head elsewhere is for.
//
// The package reads no clock and draws no random numbers; times and identifiers
// are handed in.
package record
