package web

import (
	"encoding"
	"encoding/json"
	"reflect"
	"strings"
	"time"

	"weephole/internal/job"
)

type object = map[string]any

// describe makes the OpenAPI 3.1 description of the routes. The job file's own
// schema goes in whole: both are JSON Schema 2020-12.
func (ap *api) describe() ([]byte, error) {
	raw, err := job.Schema(ap.jobs.words)
	if err != nil {
		return nil, err
	}
	var file object
	if err := json.Unmarshal(raw, &file); err != nil {
		return nil, err
	}
	delete(file, "$schema")
	d := &describer{schemas: object{"JobFile": file, "Finding": object{
		"type": "object", "description": "a finding as in a job file's list; the server checks it as weephole odds does"}}}
	paths := object{}
	for _, rt := range ap.routes() {
		p, _ := paths[rt.path].(object)
		if p == nil {
			p = object{}
			paths[rt.path] = p
		}
		p[strings.ToLower(rt.method)] = d.operation(rt)
	}
	return json.MarshalIndent(object{
		"openapi": "3.1.0",
		"info": object{
			"title": "Weephole bench", "version": "1",
			"description": "Everything that the pages do. Entries are kept before they are answered. Errors are Failure objects.",
		},
		"paths": paths,
		"components": object{
			"schemas":         d.schemas,
			"securitySchemes": object{"session": object{"type": "apiKey", "in": "cookie", "name": sessionCookie}},
		},
	}, "", " ")
}

type describer struct{ schemas object }

func (d *describer) operation(rt route) object {
	op := object{"operationId": rt.name, "summary": rt.about}
	var params []any
	for _, part := range strings.Split(rt.path, "/") {
		if name, ok := strings.CutPrefix(part, "{"); ok {
			params = append(params, object{"in": "path", "name": strings.TrimSuffix(name, "}"), "required": true, "schema": object{"type": "string"}})
		}
	}
	for _, p := range rt.params {
		params = append(params, object{"in": p.in, "name": p.name, "description": p.about, "schema": object{"type": p.kind}})
	}
	if params != nil {
		op["parameters"] = params
	}
	switch {
	case rt.takes != "":
		op["requestBody"] = object{"required": true, "content": object{rt.takes: object{}}}
	case rt.in != nil:
		op["requestBody"] = object{"required": true, "content": object{"application/json": object{"schema": d.schema(reflect.TypeOf(rt.in))}}}
	}
	good := object{"description": "done"}
	switch {
	case rt.gives != "":
		good["content"] = object{rt.gives: object{}}
	case rt.out != nil:
		good["content"] = object{"application/json": object{"schema": d.schema(reflect.TypeOf(rt.out))}}
	}
	op["responses"] = object{
		statusText(rt.status): good,
		"default":             object{"description": "not done", "content": object{"application/json": object{"schema": d.schema(reflect.TypeFor[Failure]())}}},
	}
	return op
}

func statusText(status int) string {
	b, _ := json.Marshal(status) // an int is always JSON
	return string(b)
}

// schema is the JSON Schema of a Go type as encoding/json writes it.
func (d *describer) schema(t reflect.Type) object {
	switch t {
	case reflect.TypeFor[jobFile]():
		return object{"$ref": "#/components/schemas/JobFile"}
	case reflect.TypeFor[finding]():
		return object{"$ref": "#/components/schemas/Finding"}
	case reflect.TypeFor[time.Time]():
		return object{"type": "string", "format": "date-time"}
	case reflect.TypeFor[json.RawMessage]():
		return object{}
	}
	if t.Kind() != reflect.Struct && t.Implements(reflect.TypeFor[json.Marshaler]()) {
		return object{} // it writes itself
	}
	if t.Kind() != reflect.Struct && t.Implements(reflect.TypeFor[encoding.TextMarshaler]()) {
		return object{"type": "string"}
	}
	switch t.Kind() {
	case reflect.Pointer:
		return d.schema(t.Elem())
	case reflect.Bool:
		return object{"type": "boolean"}
	case reflect.String:
		return object{"type": "string"}
	case reflect.Float32, reflect.Float64:
		return object{"type": "number"}
	case reflect.Int, reflect.Int8, reflect.Int16, reflect.Int32, reflect.Int64, reflect.Uint, reflect.Uint8, reflect.Uint16, reflect.Uint32, reflect.Uint64:
		return object{"type": "integer"}
	case reflect.Slice:
		return object{"type": []any{"array", "null"}, "items": d.schema(t.Elem())}
	case reflect.Array:
		return object{"type": "array", "items": d.schema(t.Elem()), "minItems": t.Len(), "maxItems": t.Len()}
	case reflect.Map:
		return object{"type": "object", "additionalProperties": d.schema(t.Elem())}
	case reflect.Struct:
		return d.named(t)
	}
	return object{}
}

// named puts a struct's schema among the components, once.
func (d *describer) named(t reflect.Type) object {
	name := t.Name()
	if p := t.PkgPath(); !strings.HasSuffix(p, "/web") { // two packages may each have a type of one name
		name = strings.ToUpper(p[strings.LastIndex(p, "/")+1:][:1]) + p[strings.LastIndex(p, "/")+2:] + name
	}
	ref := object{"$ref": "#/components/schemas/" + name}
	if _, done := d.schemas[name]; done {
		return ref
	}
	s := object{"type": "object"}
	d.schemas[name] = s
	props, required := object{}, []any{}
	d.fields(t, props, &required)
	s["properties"], s["required"] = props, required
	return ref
}

func (d *describer) fields(t reflect.Type, props object, required *[]any) {
	for i := range t.NumField() {
		f := t.Field(i)
		tag, hasTag := f.Tag.Lookup("json")
		name, opts, _ := strings.Cut(tag, ",")
		switch {
		case name == "-" || !f.IsExported() && !f.Anonymous:
			continue
		case f.Anonymous && name == "":
			inner := f.Type
			if inner.Kind() == reflect.Pointer {
				inner = inner.Elem()
			}
			d.fields(inner, props, required)
			continue
		case !hasTag || name == "":
			name = f.Name
		}
		s := d.schema(f.Type)
		if f.Type.Kind() == reflect.Pointer && !strings.Contains(opts, "omit") {
			s = object{"anyOf": []any{s, object{"type": "null"}}}
		}
		props[name] = s
		if !strings.Contains(opts, "omit") { // where it is empty, or zero
			*required = append(*required, name)
		}
	}
}
