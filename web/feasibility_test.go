package web_test

import (
	"context"
	"encoding/json"
	"math"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"meniscus/examples"
	"meniscus/internal/browser"
	"meniscus/web"
)

type feasibilityAnswer struct {
	Plan *struct {
		Enough     bool
		Verdict    []string
		Indicators []struct {
			Name   string
			Point  string
			Volume float64 `json:"volume_mL"`
			Fits   bool
			Words  [2]string `json:"colours"`
			Colour [2]string `json:"css_colours"`
		}
		Sections []struct {
			Key   string
			Items []string
		}
	}
	Problem *struct {
		Message string
		Line    int
	}
}

func feasible(t *testing.T, setup string) feasibilityAnswer {
	t.Helper()
	w := post(bench(t, web.Options{}), "/api/feasibility", "application/json", strings.NewReader(`{"setup":`+quote(t, []byte(setup))+`}`))
	var got feasibilityAnswer
	if err := json.Unmarshal(w.Body.Bytes(), &got); err != nil || w.Code != http.StatusOK {
		t.Fatalf("%d, %v: %s", w.Code, err, w.Body)
	}
	return got
}

func system(t *testing.T, name string) string {
	t.Helper()
	for _, e := range examples.Systems() {
		if e.Name == name {
			return string(e.Setup)
		}
	}
	t.Fatalf("no example %s", name)
	return ""
}

// Iron(II) with cerium(IV) is feasible and ferroin shows it without a
// noticeable error: the potentials lie 0.76 V apart and ferroin changes between
// them (common practice). 50 mL of 0.04 mol/L against 0.1 mol/L, one to one, end
// at 20 mL.
func TestFeasibilityOfIron(t *testing.T) {
	p := feasible(t, system(t, "iron-cerium")).Plan
	if p == nil || !p.Enough || len(p.Verdict) != 1 || !strings.Contains(strings.ToLower(p.Verdict[0]), "good enough") {
		t.Fatalf("%+v", p)
	}
	found := false
	for _, i := range p.Indicators {
		if i.Name != "ferroin" {
			continue
		}
		found = true
		if math.Abs(i.Volume-20) > 0.001 || !i.Fits || i.Words != [2]string{"red", "pale blue"} || i.Colour[0] == "" || i.Point != "" {
			t.Errorf("ferroin: %+v", i)
		}
	}
	if !found {
		t.Error("no ferroin")
	}
	have := map[string]bool{}
	for _, s := range p.Sections {
		have[s.Key] = true
	}
	for _, key := range []string{"feasibility", "gains", "burette", "indicators", "additions", "titrants", "conditions", "cautions"} {
		if !have[key] {
			t.Errorf("nothing on %s", key)
		}
	}
}

// Each point of several has its sentence.
func TestFeasibilityOfTwoPoints(t *testing.T) {
	p := feasible(t, system(t, "carbonate")).Plan
	if p == nil || p.Enough || len(p.Verdict) != 2 || !strings.HasPrefix(p.Verdict[0], "Point 1") || !strings.HasPrefix(p.Verdict[1], "Point 2") {
		t.Errorf("%+v", p)
	}
}

// What cannot be planned is said, with its place where it has one.
func TestFeasibilityRefuses(t *testing.T) {
	a := feasible(t, strings.Replace(string(examples.Worked().Setup), "0.1013 ± 0.0002 mol/L (k=2)", "0.1013", 1))
	if a.Plan != nil || a.Problem == nil || a.Problem.Line != 13 {
		t.Errorf("a wrong line: %+v", a)
	}
	w := post(bench(t, web.Options{}), "/api/feasibility", "application/json", strings.NewReader(`{"setup":"","accuracy_percent":20}`))
	if w.Code != http.StatusUnprocessableEntity {
		t.Errorf("an accuracy of 20 %%: %d", w.Code)
	}
}

// A request that was given up is not worked on.
func TestFeasibilityGivenUp(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	body := strings.NewReader(`{"setup":` + quote(t, examples.Worked().Setup) + `}`)
	r := httptest.NewRequestWithContext(ctx, http.MethodPost, "/api/feasibility", body)
	r.Header.Set("Content-Type", "application/json")
	w := httptest.NewRecorder()
	bench(t, web.Options{}).ServeHTTP(w, r)
	if w.Code != http.StatusServiceUnavailable {
		t.Errorf("%d: %s", w.Code, w.Body)
	}
}

// The verdict comes after the curve, follows a slider, and an indicator that is
// chosen stands on the curve. A wrong setup takes the verdict away and says so.
func TestVerdictByHand(t *testing.T) {
	for _, l := range browser.Looks {
		t.Run(l.Name, func(t *testing.T) { verdictByHand(t, l) })
	}
}

func verdictByHand(t *testing.T, l browser.Look) {
	ctx, address := browser.Start(t, bench(t, web.Options{Loopback: true}))
	browser.Open(t, ctx, l, address+"/plan?example=iron-cerium")
	wait := func(doing, condition string) {
		t.Helper()
		browser.Run[bool](t, ctx, doing, chromedp.Poll[bool](condition, chromedp.WithPollingTimeout(30*time.Second)))
	}
	do := func(doing, script string) {
		t.Helper()
		browser.Run[bool](t, ctx, doing, chromedp.Evaluate[bool](`(() => {`+script+`; return true})()`))
	}
	const verdict = `document.getElementById("verdict").textContent`
	wait("the verdict", verdict+`.startsWith("Good enough for 0.1 %")`)
	do("choosing ferroin", `const s = document.getElementById("indicator"); s.value = "/ferroin"; s.dispatchEvent(new Event("change"))`)
	wait("its mark", `document.querySelector("#curve .indicator title").textContent.startsWith("ferroin: red to 20.00")`)
	do("opening all", `document.querySelectorAll("#advice details").forEach(d => d.open = true)`)
	browser.Accessible(t, ctx)
	browser.Picture(t, ctx, "verdict-open-"+l.Name)
	if over := browser.Run[int](t, ctx, "measuring", chromedp.Evaluate[int](`document.documentElement.scrollWidth - document.documentElement.clientWidth`)); over > 0 {
		t.Errorf("%d px run over the edge", over)
	}
	do("folding", `document.querySelectorAll("#advice details").forEach(d => d.open = false)`)
	browser.Picture(t, ctx, "verdict-"+l.Name)

	// A tenth of the titrant's concentration moves the end from 20 to 200 mL: one
	// drop of 0.05 mL is then 0.025 % of it.
	do("sliding", `const e = [...document.querySelectorAll("#fields input[inputmode]")].find(e => e.id.includes("burette/contains")); e.value = "0.01"; e.dispatchEvent(new Event("input"))`)
	wait("the verdict follows", `document.getElementById("advice").textContent.includes("is 0.025 % of V")`)
	do("writing a wrong line", `const e = document.getElementById("setup"); e.value = "flask: 3"; e.dispatchEvent(new Event("input"))`)
	wait("the refusal", verdict+`.startsWith("No verdict")`)
}
