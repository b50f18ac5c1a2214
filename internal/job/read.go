package job

import (
	"fmt"
	"io"
	"sort"
)

// Read reads a job file, YAML or JSON. The name is what errors call it. At
// most a few megabytes are read; a larger source is refused. What is wrong in
// the file comes back as Problems, all of them up to a screenful, in the file's
// order; any other error is the reader's own.
func Read(src io.Reader, name string, words Vocabulary) (*Job, error) {
	root, err := parse(src, name)
	if err != nil {
		return nil, err
	}
	r := &reader{file: name, words: &words, places: map[string]Position{"": root.at}}
	j := &Job{file: name, places: r.places}
	if root.kind != table {
		r.problem(root.at, "", "expected keys with values, the first \"weephole: %d\", found %s", Version, root.describe())
		return nil, r.problems
	}
	r.money = shopsMoney(root)
	readTable(r, root, "", jobRows, j)
	if j.Version == 0 && !r.complained("weephole") {
		r.problem(root.at, "", "the format version is missing; begin with the line \"weephole: %d\"", Version)
	}
	checkRules(r, j)
	if len(r.problems) > 0 {
		return nil, r.problems.ordered(name)
	}
	return j, nil
}

// ordered puts the problems in the file's order and keeps a screenful.
func (ps Problems) ordered(name string) Problems {
	sort.SliceStable(ps, func(a, b int) bool {
		if ps[a].Line != ps[b].Line {
			return ps[a].Line < ps[b].Line
		}
		return ps[a].Column < ps[b].Column
	})
	if len(ps) > maxProblems {
		rest := len(ps) - maxProblems
		ps = append(ps[:maxProblems:maxProblems], &Problem{File: name, Message: fmt.Sprintf("and %d more problems", rest)})
	}
	return ps
}
