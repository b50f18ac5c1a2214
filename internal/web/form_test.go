package web_test

import (
	"encoding/json"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"weephole/internal/web"
)

func TestBareNumbersTakeTheShopsUnitAndCurrency(t *testing.T) {
	l := lay(t)
	l.must("PUT", "/api/settings", `{"units":"us","rate":"€80/h"}`, nil)
	noFollow := &http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	res, err := noFollow.PostForm(l.server.URL+"/new", url.Values{"car": {"grey van"}, "sign": {"overheats"}, "rating": {"180"}, "cap": {"16"}, "presumes": {"radiator-clogged"}, "price": {"420"}})
	if err != nil {
		t.Fatal(err)
	}
	res.Body.Close()
	if res.StatusCode != http.StatusSeeOther {
		t.Fatalf("a newcomer's form: %s", res.Status)
	}
	id := strings.TrimPrefix(res.Header.Get("Location"), "/jobs/")
	l.found(id, `{"repair":"clean-radiator-face","changed":"unknown","parts":"12"}`)
	l.must("PATCH", "/api/jobs/"+id+"/closing", `{"charged":"95"}`, nil)
	var j web.JobReply
	l.must("GET", "/api/jobs/"+id, nil, &j)
	for _, want := range []string{"180 °F", "16 psi", "420 EUR", "12 EUR", "95 EUR"} {
		if !strings.Contains(string(j.Document), want) {
			t.Errorf("%q is not in %s", want, j.Document)
		}
	}
}

func TestWhatIsWrongStandsAtItsField(t *testing.T) {
	l := lay(t)
	page := l.refused("/new", url.Values{"car": {"grey van"}, "rating": {"very hot"}})
	if !strings.Contains(page, `id="w-rating"`) || !strings.Contains(page, `value="very hot" placeholder`) || strings.Contains(page, "vehicle.thermostat") {
		t.Error("the field does not say what is wrong with it")
	}
}

func TestAWrongSettingIsSaidAtItsField(t *testing.T) {
	l := lay(t)
	page := l.refused("/settings", url.Values{"rate": {"a lot"}, "ambient": {"20 °C"}, "altitude": {"900000 m"}})
	for _, name := range []string{"rate", "altitude"} {
		if !strings.Contains(page, `aria-describedby="w-`+name+`"`) || !strings.Contains(page, `id="w-`+name+`"`) {
			t.Errorf("nothing stands at the field %s", name)
		}
	}
	if strings.Contains(page, `id="w-ambient"`) || strings.Contains(page, `role="alert"`) {
		t.Error("what is right is marked, or the list on top is there too")
	}
}

// Nobody writes units all day long. A rate takes the currency of the one before.
func TestBareNumbersTakeTheShopsUnits(t *testing.T) {
	l := lay(t)
	l.must("PUT", "/api/settings", web.ShopInput{Rate: "€85/h", Units: "metric"}, nil)
	var s web.ShopInput
	l.must("PUT", "/api/settings", web.ShopInput{Rate: "90", Units: "us", Altitude: "300", Ambient: "72", Coldest: "-10"}, &s)
	if s.Rate != "90 EUR/h" || s.Altitude != "300 ft" || s.Ambient != "72 °F" || s.Coldest != "-10 °F" {
		t.Errorf("settings: %+v", s)
	}
	id := l.job(hotCar)
	l.must("PATCH", "/api/jobs/"+id+"/closing", `{"charged":"198","coolant":{"drained":"2.2","filled":"2.3","mix":"50"}}`, nil)
	var j struct{ Document json.RawMessage }
	l.must("GET", "/api/jobs/"+id, nil, &j)
	for _, want := range []string{`"198 EUR"`, `"2.2 qt"`, `"2.3 qt"`, `"50 %"`} {
		if !strings.Contains(string(j.Document), want) {
			t.Errorf("%s is not in %s", want, j.Document)
		}
	}
}

func TestABareRateOfAShopWithoutACurrencyIsAskedAbout(t *testing.T) {
	l := lay(t)
	if page := l.refused("/settings", url.Values{"rate": {"90"}}); !strings.Contains(page, `id="w-rate"`) {
		t.Error("nothing is said at the rate")
	}
}
