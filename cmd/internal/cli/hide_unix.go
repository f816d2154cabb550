//go:build linux || darwin || freebsd || netbsd || openbsd

package cli

import (
	"os"

	"golang.org/x/sys/unix"
)

// hideTyping keeps the terminal from showing what is typed, until show is called.
func hideTyping() (show func(), err error) {
	fd := int(os.Stdin.Fd())
	was, err := unix.IoctlGetTermios(fd, getTermios)
	if err != nil {
		return func() {}, err
	}
	hidden := *was
	hidden.Lflag &^= unix.ECHO
	if err := unix.IoctlSetTermios(fd, setTermios, &hidden); err != nil {
		return func() {}, err
	}
	return func() { _ = unix.IoctlSetTermios(fd, setTermios, was) }, nil
}
