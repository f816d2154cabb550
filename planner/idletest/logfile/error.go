package logfile

import "fmt"

// Error says why a log was refused.
type Error struct {
	Line int    // of the file, from 1; 0: not one line
	What string // is wrong
	Hint string // what can be done
}

// Error gives line and fault.
func (e *Error) Error() string {
	if e.Line == 0 {
		return e.What
	}
	return fmt.Sprintf("line %d: %s", e.Line, e.What)
}

func refuse(line int, hint, format string, args ...any) error {
	return &Error{Line: line, What: fmt.Sprintf(format, args...), Hint: hint}
}
