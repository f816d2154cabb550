package cli

import (
	"context"
	"io"

	"github.com/muesli/cancelreader"

	"daytank/cmd/internal/bay"
	"daytank/cmd/internal/photo"
	"daytank/procedures/record"
)

// walkOnScreen walks the job that is open on a full screen. What it ends with
// stands in plain lines below the command, as in line mode.
func (w *walker) walkOnScreen(ctx context.Context) error {
	s, err := w.app.settings()
	if err != nil {
		return err
	}
	result, err := bay.Run(ctx, bay.Config{
		Sitting:  w.sitting,
		Events:   func(ctx context.Context) ([]record.Event, error) { return w.store.Events(ctx, w.sitting.Summary.Job) },
		Operator: w.operator, EmergencyNumber: s.EmergencyCall(),
		Whys: w.whys, Again: w.taken != "", Taken: w.taken, Demo: w.sitting.Summary.Demo, Colour: w.app.colour(),
		In: w.app.env.Stdin, Out: w.app.screen(),
		Now: w.app.env.Now, Sleep: w.app.env.Sleep,
		Stopped: func() string { return leftBy(ctx) },
		PIN:     holders{w.app},
		Alarm:   w.rings,
		Photo: func(path string) (string, []byte, error) {
			p, err := w.app.takePhoto(path)
			return p.File, p.Data, err
		},
	})
	if err != nil {
		return w.failed(err)
	}
	return w.endOfScreen(result)
}

// leftBy names the signal that ended a walk, as the record keeps it.
func leftBy(ctx context.Context) string {
	if signal, ok := StoppedBy(ctx); ok {
		return "signal: " + signal.String()
	}
	return "the input has ended"
}

// endOfScreen writes how the walk ended and gives its status.
func (w *walker) endOfScreen(result bay.Result) error {
	switch result.Ending {
	case bay.Finished:
		return w.finished()
	case bay.LeftSafe:
		w.leftSafe()
		return end(Stopped)
	case bay.Refused:
		w.leftSafe()
		return end(Refused)
	case bay.Emergency:
		w.emergency()
		return end(Stopped)
	}
	return w.leftPartWay(result.Reason)
}

// holders are those who release hold points, for the screen.
type holders struct{ app *app }

// Has tells whether somebody has a PIN.
func (h holders) Has(name string) bool {
	l, err := h.app.people()
	p, known := l.Find(name)
	return err == nil && known && p.HasPIN()
}

// Check holds a PIN against that of a person.
func (h holders) Check(name, pin string) error {
	l, err := h.app.people()
	if err != nil {
		return err
	}
	return l.Check(name, pin)
}

// takePhoto gives the picture at a path, or the newest in the inbox.
func (a *app) takePhoto(path string) (photo.Picture, error) {
	s, err := a.settings()
	if err != nil {
		return photo.Picture{}, err
	}
	return photo.Take(path, s.Text("photo_inbox"))
}

// lentInput gives the input for the questions before a screen is there, and what
// takes it back: two readers of one terminal would share what is typed between
// them.
func (a *app) lentInput() (io.Reader, func()) {
	in, err := cancelreader.NewReader(a.env.Stdin)
	if err != nil { // what cannot be waited for is read as it is
		return a.env.Stdin, func() {}
	}
	return in, func() { in.Cancel() }
}
