package bay

import (
	"testing"
	"time"

	"pgregory.net/rapid"
)

const ms = time.Millisecond

// A line that hands have typed counts, one that came by itself does not.
func TestByHand(t *testing.T) {
	for _, c := range []struct {
		name  string
		keys  int
		every time.Duration // between two keys, and before Enter
		paste bool
		want  bool
	}{
		{"slow", 4, 300 * ms, false, true},
		{"twenty keys a second", 4, 50 * ms, false, true},
		{"just slow enough", 4, 20 * ms, false, true},
		{"just too fast", 4, 19 * ms, false, false},
		{"all at once", 4, 0, false, false},
		{"one key says nothing of the pace", 1, 0, false, true},
		{"slow, but pasted", 4, 300 * ms, true, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			var h hands
			h.asked(0)
			now := time.Second
			for range c.keys {
				if !h.typed(now, 1, c.paste) {
					t.Fatal("a key was dropped")
				}
				now += c.every
			}
			if got := h.byHand(now); got != c.want {
				t.Errorf("by hand: %t, want %t", got, c.want)
			}
		})
	}
}

// What comes with the question, and all that follows it in one go, is dropped.
func TestFloodIsDropped(t *testing.T) {
	var h hands
	h.asked(0)
	for _, c := range []struct {
		at   time.Duration
		want bool
	}{
		{0, false},
		{30 * ms, false},
		{49 * ms, false}, // still before anybody has seen it
		{60 * ms, false}, // in one go with what was dropped
		{100 * ms, false},
		{150 * ms, true}, // after a pause
		{160 * ms, true},
	} {
		if got := h.typed(c.at, 1, false); got != c.want {
			t.Errorf("at %v: %t, want %t", c.at, got, c.want)
		}
	}
}

// A key held down is one press, however long.
func TestHeldKeyIsOnePress(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		every := time.Duration(rapid.IntRange(1, 149).Draw(t, "repeat, ms")) * ms
		var h hands
		h.asked(0)
		presses := 0
		for i := range 100 {
			if h.press(200*ms + time.Duration(i)*every) {
				presses++
			}
		}
		if presses != 1 {
			t.Errorf("%d presses of a key that repeats every %v", presses, every)
		}
	})
}

// A press counts only once the question could be seen.
func TestPressBeforeTheQuestionWasSeen(t *testing.T) {
	for _, c := range []struct {
		at   time.Duration
		want bool
	}{{0, false}, {149 * ms, false}, {150 * ms, true}} {
		var h hands
		h.asked(0)
		if got := h.press(c.at); got != c.want {
			t.Errorf("at %v: %t, want %t", c.at, got, c.want)
		}
	}
}
