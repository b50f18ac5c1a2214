package job

import "bytes"

// ReadFinding reads one finding, JSON or YAML, as it stands in the list of a job
// file. The shop says in which units a reading that is not possible is answered.
// What is wrong comes back as Problems, their paths counted from the finding.
func ReadFinding(src []byte, shop Shop, words Vocabulary) (*Finding, error) {
	f := &Finding{}
	r, err := readPart(src, findingRows, words, f)
	if err != nil {
		return nil, err
	}
	checkFinding(r, &Job{Shop: shop, places: r.places}, "", f)
	if len(r.problems) > 0 {
		return nil, r.problems.ordered("")
	}
	return f, nil
}

// ReadShop reads what a job file says of the shop, alone.
func ReadShop(src []byte, words Vocabulary) (*Shop, error) {
	j := &Job{}
	r, err := readPart(src, shopRows, words, &j.Shop)
	if err != nil {
		return nil, err
	}
	j.places = r.places
	checkRules(r, j)
	if len(r.problems) > 0 {
		return nil, r.problems.ordered("")
	}
	return &j.Shop, nil
}

// readPart reads a part of a job file by its rows.
func readPart[T any](src []byte, rows []row[T], words Vocabulary, into *T) (*reader, error) {
	root, err := parse(bytes.NewReader(src), "")
	if err != nil {
		return nil, err
	}
	r := &reader{words: &words, places: map[string]Position{"": root.at}}
	if root.kind != table {
		r.problem(root.at, "", "expected keys with values (%s), found %s", listed(keysOf(rows)), root.describe())
		return nil, r.problems
	}
	readTable(r, root, "", rows, into)
	return r, nil
}

// MarshalJSON writes the finding as ReadFinding gives it back.
func (f *Finding) MarshalJSON() ([]byte, error) { return jsonOf(writeTable(findingRows, f)), nil }

// Reading gives the reading with the id; its Text is "" where there is none.
func (f *Finding) Reading(id string) Reading {
	for _, x := range f.Read {
		if x.ID == id {
			return x
		}
	}
	return Reading{}
}
