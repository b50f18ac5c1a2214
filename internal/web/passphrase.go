package web

import (
	"context"
	"crypto/rand"
	"crypto/subtle"
	"encoding/base64"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/trustelem/zxcvbn"
	"golang.org/x/crypto/argon2"

	"weephole/internal/store"
)

const (
	passphraseKey   = "passphrase"
	leastPassphrase = 8 // characters; NIST SP 800-63B asks for 8 at least
	// fewestGuesses is how many guesses a passphrase must stand: at one guess a
	// second, which is what the login lets through, three years. Judgement.
	fewestGuesses = 1e8
	longestJudged = 64 // characters; the estimate takes time that grows with the square
)

// Cost of the hash: RFC 9106, section 4, second recommended option: argon2id,
// 3 passes, 64 MiB, 4 lanes, 16 bytes of salt, 32 of tag.
const (
	argonPasses = 3
	argonKiB    = 64 << 10
	argonLanes  = 4
)

// SetPassphrase keeps the hash of a shop's passphrase and logs every device out
// that was let in by another. One that is short or common is refused.
func SetPassphrase(ctx context.Context, s store.Store, passphrase string) error {
	return setPassphrase(ctx, s, passphrase, nil)
}

// setPassphrase does so over the passphrase whose mark its author saw; nil asks for nothing.
func setPassphrase(ctx context.Context, s store.Store, passphrase string, over *string) error {
	hash, err := hashOf("passphrase", passphrase)
	if err != nil {
		return err
	}
	return putPassphrase(ctx, s, hash, over)
}

// putPassphrase keeps a hash, "" for none, and logs out who came in with another.
func putPassphrase(ctx context.Context, s store.Store, hash string, over *string) error {
	stands, err := passphraseHash(ctx, s)
	switch {
	case err != nil:
	case over == nil:
		err = s.Set(ctx, passphraseKey, hash)
	case mark(stands) != *over:
		err = store.ErrOvertaken
	default:
		err = s.SetOver(ctx, passphraseKey, stands, hash)
	}
	if err != nil {
		return err
	}
	return s.DropSessions(ctx)
}

// noPassphrase takes it away; people come in with their own secrets then.
func noPassphrase(ctx context.Context, s store.Store, over *string) error {
	all, err := s.People(ctx)
	if err != nil {
		return err
	}
	if !slices.ContainsFunc(all, func(p store.Person) bool { return p.Role == store.Owner }) {
		return wrong(http.StatusConflict, "Without a passphrase nobody could let people in: make somebody an owner first.")
	}
	return putPassphrase(ctx, s, "", over)
}

// hashOf is the slow hash of a passphrase or a secret. One that is short or common
// is refused; what says what it is called; known are words that a guesser tries.
func hashOf(what, passphrase string, known ...string) (string, error) {
	if utf8.RuneCountInString(passphrase) < leastPassphrase {
		return "", wrong(http.StatusUnprocessableEntity, "the %s has fewer than %d characters; write a longer one", what, leastPassphrase)
	}
	known = append(known, "weephole", "bench", "garage", "workshop")
	if guesses := zxcvbn.PasswordStrength(clip(passphrase, longestJudged), known).Guesses; guesses < fewestGuesses {
		return "", wrong(http.StatusUnprocessableEntity, "the %s is too easy to guess: common words, names, dates and rows of keys are tried first; write four words that do not belong together", what)
	}
	salt := make([]byte, 16)
	rand.Read(salt)
	tag := argon2.IDKey([]byte(passphrase), salt, argonPasses, argonKiB, argonLanes, 32)
	e := base64.RawStdEncoding.EncodeToString
	return fmt.Sprintf("$argon2id$v=%d$m=%d,t=%d,p=%d$%s$%s", argon2.Version, argonKiB, argonPasses, argonLanes, e(salt), e(tag)), nil
}

// passphraseHash is that of the shop's passphrase, "" without one.
func passphraseHash(ctx context.Context, s store.Store) (string, error) {
	hash, err := s.Setting(ctx, passphraseKey)
	if absent(err) {
		return "", nil
	}
	return hash, err
}

// Closed tells whether the shop has a passphrase, or people with secrets of their
// own: then devices are asked.
func Closed(ctx context.Context, s store.Store) (bool, error) {
	hash, err := passphraseHash(ctx, s)
	if err != nil || hash != "" {
		return err == nil, err
	}
	all, err := s.People(ctx)
	return len(all) > 0, err
}

// noHash is compared with where there is no secret, so that it takes as long.
const noHash = "$argon2id$v=19$m=65536,t=3,p=4$AAAAAAAAAAAAAAAAAAAAAA$AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA"

// matches tells whether a passphrase has the hash.
func matches(hash, passphrase string) bool {
	var version, kib, passes, lanes int
	var rest string
	if n, err := fmt.Sscanf(hash, "$argon2id$v=%d$m=%d,t=%d,p=%d$%s", &version, &kib, &passes, &lanes, &rest); n != 5 || err != nil || version != argon2.Version {
		return false
	}
	saltText, tagText, _ := strings.Cut(rest, "$")
	salt, err1 := base64.RawStdEncoding.DecodeString(saltText)
	want, err2 := base64.RawStdEncoding.DecodeString(tagText)
	if err1 != nil || err2 != nil || len(want) == 0 {
		return false
	}
	got := argon2.IDKey([]byte(passphrase), salt, uint32(passes), uint32(kib), uint8(lanes), uint32(len(want)))
	return subtle.ConstantTimeCompare(got, want) == 1
}
