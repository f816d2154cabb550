package cli

import (
	"context"
	"os"
	"path/filepath"
	"testing"
	"time"
)

// The command of the alarm is run, one at a time, without a shell; one that is not
// there rings nothing and stops nothing.
func TestRinger(t *testing.T) {
	if ringer(t.Context(), "  ") != nil {
		t.Error("a command of nothing rings")
	}
	missing := ringer(t.Context(), "/nowhere/at-all $(touch x)")
	missing()
	rang := filepath.Join(t.TempDir(), "rang")
	ring := ringer(t.Context(), "touch "+rang)
	deadline := time.Now().Add(20 * time.Second)
	for ring(); time.Now().Before(deadline); time.Sleep(10 * time.Millisecond) {
		if _, err := os.Stat(rang); err == nil {
			return
		}
	}
	t.Error("nothing rang")
}

// While a command rings no second one is started.
func TestRingsOnceAtATime(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	log := filepath.Join(t.TempDir(), "log")
	script := filepath.Join(t.TempDir(), "ring")
	if err := os.WriteFile(script, []byte("#!/bin/sh\necho x >>"+log+"\nexec sleep 30\n"), 0o700); err != nil {
		t.Fatal(err)
	}
	ring := ringer(ctx, script)
	ring()
	for deadline := time.Now().Add(20 * time.Second); time.Now().Before(deadline); time.Sleep(10 * time.Millisecond) {
		if _, err := os.Stat(log); err == nil {
			break
		}
	}
	for range 5 {
		ring()
		time.Sleep(20 * time.Millisecond)
	}
	text, err := os.ReadFile(log)
	if err != nil || string(text) != "x\n" {
		t.Errorf("rang %q, %v", text, err)
	}
}
