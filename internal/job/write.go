package job

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"regexp"
	"strings"
)

// WriteYAML writes the job as a job file that Read gives back unchanged.
func WriteYAML(w io.Writer, j *Job) error {
	var b bytes.Buffer
	emitTable(&b, writeTable(jobRows, j), "")
	if _, err := w.Write(b.Bytes()); err != nil {
		return fmt.Errorf("write job: %w", err)
	}
	return nil
}

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

// emitTable prints a table's keys, each line behind the indent.
func emitTable(b *bytes.Buffer, n *node, indent string) {
	for i, e := range n.entries {
		if i > 0 {
			b.WriteString(indent)
		}
		b.WriteString(yamlScalar(e.key) + ":")
		switch {
		case e.value.kind == scalar:
			b.WriteString(" " + yamlScalar(e.value.text) + "\n")
		case e.value.kind == list && plainList(e.value):
			texts := make([]string, len(e.value.items))
			for k, item := range e.value.items {
				texts[k] = yamlScalar(item.text)
			}
			b.WriteString(" [" + strings.Join(texts, ", ") + "]\n")
		case e.value.kind == list:
			b.WriteByte('\n')
			for _, item := range e.value.items {
				emitItem(b, item, indent+"  ")
			}
		case len(e.value.entries) == 0:
			b.WriteString(" {}\n")
		default:
			b.WriteString("\n" + indent + "  ")
			emitTable(b, e.value, indent+"  ")
		}
	}
}

func emitItem(b *bytes.Buffer, item *node, indent string) {
	b.WriteString(indent + "- ")
	if len(item.entries) == 0 {
		b.WriteString("{}\n")
		return
	}
	emitTable(b, item, indent+"  ")
}

func plainList(n *node) bool {
	for _, item := range n.items {
		if item.kind != scalar {
			return false
		}
	}
	return true
}
