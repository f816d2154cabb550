// Command asking shows what a form library does to a silent terminal when
// nobody answers in its stead.
package main

import (
	"fmt"

	_ "github.com/charmbracelet/huh"
)

func main() { fmt.Println("started") }
