//go:build unix

package cluster

import "syscall"

// asUser makes a program run as another user, in whose name root starts it.
func asUser(uid, gid int) *syscall.SysProcAttr {
	return &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: uint32(uid), Gid: uint32(gid)}}
}
