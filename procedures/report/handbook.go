package report

import (
	"fmt"
	"io"
	"strings"

	"daytank/procedures/handbook"
)

// PageText writes a page of the handbook for a person.
func PageText(w io.Writer, p handbook.Page) {
	fmt.Fprintf(w, "%s %s: %s\n\n", p.Kind, p.ID, Plain(p.Title))
	for _, part := range p.Parts {
		if len(part.List) == 0 {
			fmt.Fprintln(w, wrapped(part.Label+": "+part.Text, "  "))
			continue
		}
		fmt.Fprintln(w, wrapped(part.Label+":", "  "))
		for _, item := range part.List {
			const under = "      "
			fmt.Fprintln(w, "    - "+strings.TrimPrefix(wrapped(item, under), under))
		}
	}
}
