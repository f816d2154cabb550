// Command quiet is the same program with the answer given.
package main

import (
	"fmt"

	_ "daytank/cmd/internal/quiet"

	_ "github.com/charmbracelet/huh"
)

func main() { fmt.Println("started") }
