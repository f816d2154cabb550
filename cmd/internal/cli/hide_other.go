//go:build !(linux || darwin || freebsd || netbsd || openbsd)

package cli

import "errors"

// hideTyping cannot be done here.
func hideTyping() (show func(), err error) {
	return func() {}, errors.New("this terminal cannot hide what is typed")
}
