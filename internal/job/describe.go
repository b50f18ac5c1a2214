package job

import (
	"fmt"
	"io"
)

// WriteReference writes the tables of keys that docs/job-file.md shows, in
// Markdown, from the same rows that read the file.
func WriteReference(w io.Writer) error {
	return writeReference(w, "The file", "", describeRows(jobRows))
}

func describeRows[T any](rows []row[T]) []described {
	out := make([]described, len(rows))
	for i, f := range rows {
		out[i] = described{key: f.key, says: f.says, shows: f.form.shows, rows: f.form.rows}
	}
	return out
}

func writeReference(w io.Writer, title, prefix string, rows []described) error {
	if _, err := fmt.Fprintf(w, "### %s\n\n| key | says | written as |\n| --- | --- | --- |\n", title); err != nil {
		return err
	}
	for _, r := range rows {
		if _, err := fmt.Fprintf(w, "| `%s` | %s | %s |\n", r.key, r.says, r.shows); err != nil {
			return err
		}
	}
	if _, err := fmt.Fprintln(w); err != nil {
		return err
	}
	for _, r := range rows {
		if len(r.rows) == 0 {
			continue
		}
		path := joined(prefix, r.key)
		if err := writeReference(w, "`"+path+"`", path, r.rows); err != nil {
			return err
		}
	}
	return nil
}
