package job

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"regexp"
	"strings"
)

// WriteJSON writes the job as JSON that Read gives back unchanged. Quantities
// are strings with their unit; only counts are numbers.
func WriteJSON(w io.Writer, j *Job) error {
	var b bytes.Buffer
	if err := json.Indent(&b, jsonOf(writeTable(jobRows, j)), "", "  "); err != nil {
		return fmt.Errorf("write job: %w", err)
	}
	b.WriteByte('\n')
	if _, err := w.Write(b.Bytes()); err != nil {
		return fmt.Errorf("write job: %w", err)
	}
	return nil
}

func jsonOf(n *node) []byte {
	var b bytes.Buffer
	switch n.kind {
	case scalar:
		if n.number {
			return []byte(n.text)
		}
		return quoted(n.text)
	case list:
		b.WriteByte('[')
		for i, item := range n.items {
			if i > 0 {
				b.WriteByte(',')
			}
			b.Write(jsonOf(item))
		}
		b.WriteByte(']')
	case table:
		b.WriteByte('{')
		for i, e := range n.entries {
			if i > 0 {
				b.WriteByte(',')
			}
			b.Write(quoted(e.key))
			b.WriteByte(':')
			b.Write(jsonOf(e.value))
		}
		b.WriteByte('}')
	default:
		b.WriteString("null")
	}
	return b.Bytes()
}

// quoted is the text as a JSON string, which is a YAML string too.
func quoted(s string) []byte {
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(s); err != nil { // a string always encodes
		return []byte(`""`)
	}
	return bytes.TrimSpace(b.Bytes())
}

// bare are the texts that need no quotes in YAML, wherever they stand.
var bare = regexp.MustCompile(`^[A-Za-z0-9][A-Za-z0-9_./+%°$€£-]*( [A-Za-z0-9_./+%°$€£-]+)*$`)

func yamlScalar(s string) string {
	switch strings.ToLower(s) {
	case "null", "true", "false", "yes", "no", "on", "off":
		return string(quoted(s)) // other YAML readers take these for something else
	}
	if bare.MatchString(s) && !strings.Contains(s, " -") {
		return s
	}
	return string(quoted(s))
}
