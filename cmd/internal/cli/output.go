package cli

import (
	"encoding/json"
	"io"
)

// writeJSON writes a result as indented JSON, text as it is.
func writeJSON(w io.Writer, v any) error {
	encoder := json.NewEncoder(w)
	encoder.SetEscapeHTML(false)
	encoder.SetIndent("", "  ")
	return encoder.Encode(v)
}
