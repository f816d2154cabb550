// Command daytank plans, walks and proves a concentrate clean of a diesel's
// injection system: the engine is taken off its own tank and idles on cleaning
// fluid from a small container. See package cli for the commands.
package main

import (
	"os"

	"daytank/cmd/internal/cli"
	_ "daytank/cmd/internal/quiet" // must be in the program: see there
)

func main() { os.Exit(cli.Main()) }
