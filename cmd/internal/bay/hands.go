package bay

import "time"

// The limits of hands. A question that has just been drawn has been read by
// nobody; a key held down repeats some thirty times a second; the fastest
// typing is about twenty keys a second (from memory), so that a whole line at
// fifty a second was not typed.
const (
	unread    = 50 * time.Millisecond  // until characters count, with the time of drawing
	unseen    = 150 * time.Millisecond // until Enter or a key alone counts; a held key repeats sooner
	perKey    = 20 * time.Millisecond  // on the average of a line
	fewToTell = 2                      // keys whose pace says nothing
)

// hands tells what a person typed from what came by itself: a paste, a script,
// what was typed ahead, a key held down. Times are those of one clock that
// never steps back.
type hands struct {
	shown  time.Duration // when the question came to stand there
	turned time.Duration // when it last changed into one that takes the same line
	first  time.Duration // first key of the line
	keys   int           // of the line
	pasted bool          // something of the line
	flood  time.Duration // last key that came by itself; 0: none did
	alone  time.Duration // last Enter or key that acts alone
	acted  bool
}

// asked begins a new question.
func (h *hands) asked(now time.Duration) {
	h.shown, h.turned = now, now
	h.emptied()
}

// changed notes that the question has changed, but not what the line is for.
func (h *hands) changed(now time.Duration) { h.turned = now }

// emptied begins a new line.
func (h *hands) emptied() { h.keys, h.pasted = 0, false }

// typed notes characters that arrived; false if they came before the question
// could be read, or in one go with such.
func (h *hands) typed(now time.Duration, n int, pasted bool) bool {
	if now-h.shown < unread || (h.flood > 0 && now-h.flood < unread) {
		h.flood = max(now, 1)
		return false
	}
	h.flood = 0
	if h.keys == 0 {
		h.first = now
	}
	h.keys += n
	h.pasted = h.pasted || pasted
	return true
}

// press notes a key that acts alone, and tells whether it is a press of its
// own that came after the question could be seen.
func (h *hands) press(now time.Duration) bool {
	held := h.acted && now-h.alone < unseen
	h.alone, h.acted = now, true
	return !held && now-h.turned >= unseen
}

// byHand tells whether the line, ended now, was typed.
func (h *hands) byHand(now time.Duration) bool {
	if h.pasted {
		return false
	}
	return h.keys < fewToTell || now-h.first >= time.Duration(h.keys)*perKey
}
