package job_test

import (
	"strings"
	"testing"

	"weephole/internal/job"
)

// TestInsertLeavesTheRestAsItWasTyped: each way of laying a job file out gets one
// thing more, and keeps its comments and its order.
func TestInsertLeavesTheRestAsItWasTyped(t *testing.T) {
	for _, c := range []struct{ name, src, path, value, want string }{
		{"no findings yet", "weephole: 1\n", "findings", "{note: a}", "weephole: 1\nfindings:\n  - {note: a}\n"},
		{"a key without items", "weephole: 1\nfindings:\n", "findings", "{note: a}", "weephole: 1\nfindings:\n  - {note: a}\n"},
		{"before what follows", "weephole: 1\nfindings: # made so far\n- {note: a} # one\n\n# the end\njob: x\n", "findings", "{note: b}",
			"weephole: 1\nfindings: # made so far\n- {note: a} # one\n- {note: b}\n\n# the end\njob: x\n"},
		{"items over several lines", "findings:\n    - check: level-cold\n      found: low\n", "findings", "{note: b}",
			"findings:\n    - check: level-cold\n      found: low\n    - {note: b}\n"},
		{"no complaint yet", "weephole: 1", "complaint.when", "idle", "weephole: 1\ncomplaint: {when: [idle]}\n"},
		{"a table in braces", "complaint: {words: \"hot, and {odd}\", when: [city]} # told\n", "complaint.when", "idle",
			"complaint: {words: \"hot, and {odd}\", when: [city, idle]} # told\n"},
		{"one word becomes a list", "complaint: {when: city}\n", "complaint.when", "idle", "complaint: {when: [city, idle]}\n"},
		{"a key that is not there", "complaint: {words: hot}\n", "complaint.fine", "idle", "complaint: {fine: [idle], words: hot}\n"},
		{"a block", "complaint:\n  words: hot\n  when: [city]\nshop: {}\n", "complaint.when", "idle", "complaint:\n  words: hot\n  when: [city, idle]\nshop: {}\n"},
		{"a block without the key", "complaint:\n  words: hot\n", "complaint.when", "idle", "complaint:\n  when: [idle]\n  words: hot\n"},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, ok := job.Insert(c.src, c.path, c.value, strings.HasPrefix(c.path, "complaint"))
			if !ok || got != c.want {
				t.Errorf("%v\n%s\nwant\n%s", ok, got, c.want)
			}
		})
	}
	for _, c := range []struct{ name, src, path string }{
		{"JSON", "{\"weephole\": 1}", "findings"}, {"findings in brackets", "findings: [{note: a}]\n", "findings"},
		{"braces that do not close", "complaint: {when: [city\n", "complaint.when"},
	} {
		if got, ok := job.Insert(c.src, c.path, "x", true); ok || strings.TrimSpace(got) != strings.TrimSpace(c.src) {
			t.Errorf("%s: was changed to %q", c.name, got)
		}
	}
}
