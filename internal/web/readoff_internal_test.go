package web

import (
	"fmt"
	"testing"

	"weephole/internal/web/answers"
)

func TestAnAnswerIsReadOnceUntilItChanges(t *testing.T) {
	var k readOff
	reads := 0
	read := func(b []byte) *answers.Answer {
		if reads++; string(b) == "old" {
			return nil
		}
		return &answers.Answer{Problem: string(b)}
	}
	for i, of := range []struct {
		job, body string
		reads     int
	}{{"a", "1", 1}, {"a", "1", 1}, {"b", "1", 2}, {"a", "2", 3}, {"a", "1", 4}, {"a", "old", 5}, {"a", "old", 5}} {
		got := k.answer(of.job, []byte(of.body), read)
		if reads != of.reads || (got == nil) != (of.body == "old") || got != nil && got.Problem != of.body {
			t.Errorf("%d: %+v after %d reads, want %q after %d", i, got, reads, of.body, of.reads)
		}
	}
	for i := range 3 * mostReadOff {
		k.answer(fmt.Sprint(i), []byte("x"), read)
	}
	if len(k.was) > mostReadOff {
		t.Errorf("%d answers are kept", len(k.was))
	}
}
