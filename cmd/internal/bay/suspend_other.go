//go:build !unix

package bay

func stopUntilContinued() error { return errNoShell }
