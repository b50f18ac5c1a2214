package job

import (
	"encoding/json"
	"fmt"
	"slices"
)

// schema is a piece of a JSON Schema, draft 2020-12.
type schema map[string]any

// SchemaID is the schema's own name; nothing is ever fetched from it.
const SchemaID = "urn:weephole:job:1"

// Schema gives the JSON Schema of the job file, with the vocabulary's ids as
// the allowed words. It accepts whatever Read accepts; Read is stricter: it
// also knows units, bounds and which words belong to which check.
func Schema(v Vocabulary) ([]byte, error) {
	s := tableSchema(&v, jobRows)
	s["$schema"] = "https://json-schema.org/draft/2020-12/schema"
	s["$id"] = SchemaID
	s["title"] = "weephole job file"
	s["description"] = "What a mechanic knows of one vehicle's visit. Quantities carry their unit in the text. \"unknown\" is always a possible answer."
	s["type"] = "object"
	s["required"] = []string{"weephole"}
	out, err := json.MarshalIndent(s, "", "  ")
	if err != nil {
		return nil, fmt.Errorf("write schema: %w", err)
	}
	return append(out, '\n'), nil
}

// idPattern is isID as a regular expression.
const idPattern = "^[a-z0-9]([a-z0-9-]*[a-z0-9])?$"

// null may stand wherever a value may: a key without a value is not said.
func textSchema() schema { return schema{"type": []string{"string", "number", "boolean", "null"}} }

func wordSchema(words []string) schema {
	if len(words) == 0 {
		return schema{"anyOf": []schema{
			{"type": "string", "pattern": idPattern}, {"type": []string{"integer", "null"}}, {"const": ""}}}
	}
	all := make([]any, 0, len(words)+3)
	for _, w := range words {
		all = append(all, w)
	}
	if !slices.Contains(words, Unknown) {
		all = append(all, Unknown)
	}
	return schema{"enum": append(all, "", nil)}
}

func oneOrMany(one schema) schema {
	return schema{"anyOf": []schema{one, {"type": "array", "items": one}}}
}

func countSchema(low, high int) schema {
	return schema{"anyOf": []schema{
		{"type": "integer", "minimum": low, "maximum": high},
		{"type": "string", "pattern": `^(\s*[+-]?[0-9]+\s*|\s*)$`},
		{"enum": []any{Unknown, nil}}}}
}

func quantitySchema(example string) schema {
	return schema{"type": []string{"string", "number", "null"}, "examples": []string{example, Unknown}}
}

func tableSchema[T any](v *Vocabulary, rows []row[T]) schema {
	properties := schema{}
	for _, f := range rows {
		s := f.form.schema(v)
		s["description"] = f.says
		properties[f.key] = s
	}
	return schema{"type": []string{"object", "null"}, "properties": properties, "additionalProperties": false}
}
