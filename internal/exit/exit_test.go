package exit_test

import (
	"errors"
	"fmt"
	"testing"

	"weephole/internal/exit"
)

func TestStatusOfAnError(t *testing.T) {
	plain := errors.New("disk full")
	for _, c := range []struct {
		name  string
		err   error
		want  int
		usage bool
	}{
		{"no error is done", nil, exit.Done, false},
		{"an unmarked error is the program's failure", plain, exit.Failed, false},
		{"a wrong input is the input's", exit.Wrong(plain), exit.Input, false},
		{"a wrong flag is the input's and a usage error", exit.Usage(plain), exit.Input, true},
		{"a mark survives wrapping", fmt.Errorf("read job: %w", exit.Wrong(plain)), exit.Input, false},
		{"marking nothing marks nothing", exit.Wrong(nil), exit.Done, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got := exit.Of(c.err); got != c.want {
				t.Errorf("Of(%v) = %d, want %d", c.err, got, c.want)
			}
			if got := exit.IsUsage(c.err); got != c.usage {
				t.Errorf("IsUsage(%v) = %v, want %v", c.err, got, c.usage)
			}
		})
	}
}

func TestAMarkedErrorKeepsItsCause(t *testing.T) {
	cause := errors.New("line 3")
	if !errors.Is(exit.Wrong(cause), cause) || exit.Wrong(cause).Error() != "line 3" {
		t.Error("Wrong changed the error it marks")
	}
}
