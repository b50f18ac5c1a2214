package web_test

import (
	"regexp"
	"strings"
	"testing"

	"weephole/internal/web/drawing"
)

// shape is any of the icons, as a pattern.
const shape = `<svg class="ico" viewBox="0 0 24 24" aria-hidden="true" focusable="false"><path d="M[^"]+"/></svg>`

// On the page of each place every check says with a shape and a word what it is made with,
// and every caution what it is about.
func TestChecksAndCautionsHaveAShapeAndAWord(t *testing.T) {
	l := lay(t)
	id := l.job(strings.Replace(hotCar, `"kind":"electric"`, `"kind":"two-speed"`, 1))
	caution, checked := regexp.MustCompile(`<li data-hazard="[a-z-]+">`+shape+`<span><b>[A-Z]`), regexp.MustCompile(`<p class="means">`+shape+`[A-Z][a-z]`)
	seen := 0
	for _, place := range drawing.Places() {
		page := l.page("/jobs/" + id + "/places/" + place)
		if n, all := len(caution.FindAllString(page, -1)), strings.Count(page, "<li data-hazard"); n != all {
			t.Errorf("%s: %d of %d cautions have a shape and a word", place, n, all)
		}
		n, all := len(checked.FindAllString(page, -1)), strings.Count(page, `<form class="check"`)
		if n != all {
			t.Errorf("%s: %d of %d checks say what they are made with", place, n, all)
		}
		if !regexp.MustCompile(`<h2 class="title">` + shape).MatchString(page) {
			t.Errorf("%s has no shape", place)
		}
		seen += n
	}
	if seen < 40 {
		t.Errorf("only %d checks were looked at", seen)
	}
}

// So it is on the pages that are told in sentences: plan, repair, proof and drive.
func TestCautionsToldInSentencesHaveTheirSign(t *testing.T) {
	l := lay(t)
	id := l.job(hotCar)
	l.must("GET", "/api/jobs/"+id+"/next", nil, nil)
	signed := regexp.MustCompile(`<li data-hazard="([a-z-]+)">` + shape + `<span>(<b>[A-Z][^<]*\.</b> )?[A-Z]`)
	for page, hazard := range map[string]string{"repair?repair=replace-radiator": "scald", "proof?wait=1": "", "plan?wait=1": "", "drive?do=road-test&wait=1": ""} {
		text := l.page("/jobs/" + id + "/" + page)
		named, all := 0, strings.Count(text, "<li data-hazard")
		found := signed.FindAllStringSubmatch(text, -1)
		has := hazard == ""
		for _, m := range found {
			if (m[1] == "caution") != (m[2] == "") {
				t.Errorf("%s: the sign %s stands beside the name %q", page, m[1], m[2])
			}
			if m[2] != "" {
				named++
			}
			has = has || m[1] == hazard
		}
		if len(found) != all || named == 0 || !has {
			t.Errorf("%s: %d cautions, %d with a sign, %d with a name; %q is there: %v", page, all, len(found), named, hazard, has)
		}
	}
}
