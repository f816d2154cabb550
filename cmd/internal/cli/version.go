package cli

import (
	"fmt"
	"runtime"
	"runtime/debug"
)

// version is set by whoever builds a release:
//
//	go build -ldflags '-X daytank/cmd/internal/cli.version=1.0.0' ./cmd/daytank
var version string

// versionLine gives the program, its version and the Go it was built with. A
// build without a version is "devel", with the commit where Go recorded it.
func versionLine() string {
	return fmt.Sprintf("%s %s (%s)", program, builtAs(), runtime.Version())
}

// builtAs gives the version that records keep.
func builtAs() string {
	if version != "" {
		return version
	}
	return builtVersion()
}

func builtVersion() string {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return "devel"
	}
	if v := info.Main.Version; v != "" && v != "(devel)" {
		return v
	}
	for _, s := range info.Settings {
		if s.Key == "vcs.revision" && len(s.Value) >= 12 {
			return "devel-" + s.Value[:12]
		}
	}
	return "devel"
}
