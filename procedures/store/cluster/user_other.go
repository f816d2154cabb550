//go:build !unix

package cluster

import "syscall"

// asUser is for systems with users by number; here nobody is root.
func asUser(int, int) *syscall.SysProcAttr { return nil }
