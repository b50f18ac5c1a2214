package store

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"path"
	"regexp"
	"strings"
	"unicode/utf8"
)

// Limits of what is kept. All are judgement; what counts is that they are in
// bytes, since a letter may take four.
const (
	// MaxID is the longest id of a job or an entry, bytes.
	MaxID = 80
	// MaxWho is the longest name of an author, bytes: 80 letters of any script.
	MaxWho = 320
	// MaxFileName is the longest name of a file, bytes. A file system takes 255.
	MaxFileName = 240
)

// Fit is the entry as it can be kept: its body compact, its author's name no
// longer than MaxWho. A name is only a label, so it is cut; an id is not.
func (e Entry) Fit() (Entry, error) {
	for _, id := range []struct {
		what, is string
		must     bool
	}{{"job", e.Job, true}, {"id", e.ID, true}, {"finding", e.Finding, false}} {
		if err := fitID(id.is, id.must); err != nil {
			return e, fmt.Errorf("its %s %w", id.what, err)
		}
	}
	var err error
	if e.Body, err = Compact(e.Body); err != nil {
		return e, fmt.Errorf("body: %w", err)
	}
	if e.Kind == Removed { // the database itself reads this body, so it has one form
		name, err := FileOf(e.Body)
		if err != nil || !PlainName(name) {
			return e, fmt.Errorf("body: it names no file: %s", Cut(string(e.Body), 80))
		}
		e.Body = fileBody(name)
	}
	e.Who = FitWho(e.Who)
	return e, nil
}

// Naming is the entry as one about a file.
func (e Entry) Naming(kind Kind, file string) Entry {
	e.Kind, e.Body = kind, fileBody(file)
	return e
}

func fileBody(name string) json.RawMessage {
	body, err := json.Marshal(map[string]string{"file": name})
	if err != nil {
		panic(err) // a text can always be written
	}
	return body
}

func fitID(id string, must bool) error {
	switch {
	case id == "" && must:
		return fmt.Errorf("is missing")
	case len(id) > MaxID:
		return fmt.Errorf("has %d bytes; at most %d can be kept", len(id), MaxID)
	case !utf8.ValidString(id) || strings.ContainsFunc(id, control):
		return fmt.Errorf("%q has letters that cannot be kept", id)
	}
	return nil
}

func control(r rune) bool { return r < ' ' || r == 0x7f }

// FitWho is an author's name as it can be kept: without control characters and
// cut between two letters where it is longer than MaxWho.
func FitWho(who string) string {
	who = strings.Map(func(r rune) rune {
		if control(r) {
			return -1
		}
		return r
	}, strings.ToValidUTF8(who, ""))
	return Cut(who, MaxWho)
}

// Cut is a text cut between two letters where it is longer than so many bytes.
func Cut(text string, most int) string {
	if len(text) <= most {
		return text
	}
	for most > 0 && !utf8.RuneStart(text[most]) {
		most--
	}
	return text[:most]
}

// Compact is a JSON text without idle spaces and in valid UTF-8; none is an empty
// object.
func Compact(body json.RawMessage) (json.RawMessage, error) {
	if len(body) == 0 {
		return json.RawMessage("{}"), nil
	}
	var b bytes.Buffer
	if err := json.Compact(&b, body); err != nil {
		return nil, err
	}
	return bytes.ToValidUTF8(b.Bytes(), []byte("\uFFFD")), nil
}

var plainID = regexp.MustCompile(`^[A-Za-z0-9][A-Za-z0-9._-]*$`)

// PlainID is an id that can stand in an address: the id itself when it is made of
// letters, digits, dots, dashes and low lines, otherwise one made from it. The
// same id always gives the same.
func PlainID(id string) string {
	if id == "" || len(id) <= MaxID && plainID.MatchString(id) {
		return id
	}
	sum := sha256.Sum256([]byte(id))
	return "x-" + hex.EncodeToString(sum[:16])
}

// Sum is the SHA-256 of a content, in hexadecimal.
func Sum(content []byte) string {
	h := sha256.Sum256(content)
	return hex.EncodeToString(h[:])
}

// PlainName tells whether a file name is one name, with no folders and nothing
// that a file system or a page could stumble over.
func PlainName(name string) bool {
	return name != "" && len(name) <= MaxFileName && utf8.ValidString(name) && name == path.Base(name) && name[0] != '.' &&
		!strings.ContainsFunc(name, func(r rune) bool { return control(r) || strings.ContainsRune(`/\:*?"<>|`, r) })
}
