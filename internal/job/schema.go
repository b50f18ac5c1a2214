package job

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"
)

// schema is a piece of a JSON Schema, draft 2020-12.
type schema map[string]any

// SchemaID is the schema's own name; nothing is ever fetched from it.
const SchemaID = "urn:weephole:job:1"

// Schema gives the JSON Schema of the job file, with the vocabulary's ids as
// the allowed words. It accepts whatever Read accepts; Read is stricter: it
// also knows units, bounds and which words belong to which check.
func Schema(v Vocabulary) ([]byte, error) {
	v.defs = schema{}
	s := tableSchema(&v, jobRows)
	if items, ok := s["properties"].(schema)["findings"].(schema)["items"].(schema); ok && len(v.Checks) > 0 {
		items["allOf"] = foundSchemas(&v)
	}
	if len(v.defs) > 0 {
		s["$defs"] = v.defs
	}
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

// wordSchema is one word of a list. Words with meanings stand in a definition of
// their own, each with what it means, so that an editor shows that.
func wordSchema(v *Vocabulary, what string, words []string) schema {
	if len(words) == 0 {
		return schema{"anyOf": []schema{
			{"type": "string", "pattern": idPattern}, {"type": []string{"integer", "null"}}, {"const": ""}}}
	}
	if v.defs != nil && v.Says[KeyOf(what, words[0])] != "" {
		name := strings.ReplaceAll(what, " ", "-")
		v.defs[name] = meantSchema(v, what, words)
		return schema{"$ref": "#/$defs/" + name}
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

// meantSchema is one word of a list, each with its meaning.
func meantSchema(v *Vocabulary, what string, words []string) schema {
	all := make([]schema, 0, len(words)+1)
	for _, w := range words {
		one := schema{"const": w}
		if says := v.Says[KeyOf(what, w)]; says != "" {
			one["description"] = says
		}
		all = append(all, one)
	}
	return schema{"anyOf": append(all, schema{"enum": []any{Unknown, "", nil}})}
}

// foundSchemas say for each check which words it may be said to have shown.
func foundSchemas(v *Vocabulary) []schema {
	var all []schema
	for _, c := range v.Checks {
		word := meantSchema(v, foundWhat(c.ID), c.Words)
		if len(c.Codes) > 0 {
			word["anyOf"] = append(word["anyOf"].([]schema), schema{"type": "string", "pattern": codePattern.String()})
		}
		all = append(all, schema{
			"if":   schema{"properties": schema{"check": schema{"const": c.ID}}, "required": []string{"check"}},
			"then": schema{"properties": schema{"found": oneOrMany(word)}},
		})
	}
	return all
}

// foundWhat is what a word of a check is called.
func foundWhat(check string) string { return "a finding of " + check }

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
