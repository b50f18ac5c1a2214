package web

import (
	"maps"
	"mime"
	"net/http"
	"slices"
)

// again is what was typed into a form that could not be taken just now. The page that says
// so holds it, because a form, other than an entry, does not wait on the device.
type again struct {
	To     string
	Fields []typed
	Login  bool // the device has to log in first
}

type typed struct{ Name, Value string }

// secretFields are never sent back.
var secretFields = []string{"passphrase", "secret", "now", "next"}

// againOf is what a request's form holds, where the same may be taken later; nil where it
// is no form, has a secret, or would fail again.
func againOf(r *http.Request, f FailureBody) *again {
	kind, _, _ := mime.ParseMediaType(r.Header.Get("Content-Type"))
	if r.Method != http.MethodPost || kind != "application/x-www-form-urlencoded" || !f.Retry && f.Status != http.StatusUnauthorized {
		return nil
	}
	if r.ParseForm() != nil || len(r.PostForm) == 0 {
		return nil
	}
	a := &again{To: r.URL.RequestURI(), Login: f.Status == http.StatusUnauthorized}
	for _, name := range slices.Sorted(maps.Keys(r.PostForm)) {
		if slices.Contains(secretFields, name) {
			return nil
		}
		for _, value := range r.PostForm[name] {
			a.Fields = append(a.Fields, typed{name, value})
		}
	}
	return a
}
