package web_test

import (
	"encoding/json"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"meniscus/exercise"
	"meniscus/internal/browser"
	"meniscus/report"
	"meniscus/web"
)

// The sheet that is shown and the file of it have the words and numbers of the
// command line, and nothing of the key.
func TestExercisesAreThoseOfTheCommand(t *testing.T) {
	h := bench(t, web.Options{Loopback: true})
	const query = "?kind=curve&kind=calcium&seed=7&students=3"
	want := sheetText(t, 7, []string{"curve", "calcium"}, []int{1, 2, 3}, false)
	code, header, text := ask(t, h, "GET", "/exercises/file/sheets.txt"+query+"&sheet=all", nil)
	if code != http.StatusOK || text != want || header.Get("Content-Disposition") != `attachment; filename="sheets-seed-7.txt"` {
		t.Errorf("%d, %v, other words than the command's:\n%s", code, header, text)
	}
	if code, _, text = ask(t, h, "GET", "/exercises/file/key.txt"+query+"&sheet=2", nil); code != http.StatusOK || text != sheetText(t, 7, []string{"curve", "calcium"}, []int{2}, true) {
		t.Errorf("%d, another key than the command's:\n%s", code, text)
	}
	for name, want := range map[string]string{"sheets.html": "<!doctype html>", "sheets.tex": `\end{document}`} {
		if code, _, text := ask(t, h, "GET", "/exercises/file/"+name+query, nil); code != http.StatusOK || !strings.Contains(text, want) || strings.Contains(text, "Key to") {
			t.Errorf("%s: %d, without %s or with the key", name, code, want)
		}
	}
	if code, _, _ := ask(t, h, "GET", "/exercises/file/sheets.docx"+query, nil); code != http.StatusNotFound {
		t.Errorf("a file of no such kind: %d", code)
	}

	code, _, page := ask(t, h, "GET", "/exercises"+query+"&sheet=2", nil)
	if code != http.StatusOK || !strings.Contains(page, "Problem sheet 2") || !strings.Contains(page, "Sheet 2 of 3") {
		t.Fatalf("%d %s", code, page)
	}
	if strings.Contains(page, "Answers at a glance") {
		t.Error("the key stands on the sheet")
	}
	if _, _, key := ask(t, h, "GET", "/exercises/key"+query+"&sheet=2", nil); !strings.Contains(key, "Answers at a glance") || !strings.Contains(key, "<math") {
		t.Error("the page of the key has no key")
	}
	if strings.Contains(page, " style=") || strings.Contains(page, "<style") {
		t.Error("the page holds a style that its own policy refuses")
	}
}

func sheetText(t *testing.T, seed uint64, kinds []string, numbers []int, key bool) string {
	t.Helper()
	var list []exercise.Sheet
	for _, n := range numbers {
		s, err := exercise.New(seed, n, exercise.Options{Kinds: kinds})
		if err != nil {
			t.Fatal(err)
		}
		list = append(list, s)
	}
	doc, err := exercise.Sheets(list)
	if key {
		doc, err = exercise.Keys(list), nil
	}
	if err != nil {
		t.Fatal(err)
	}
	f, _ := report.WorkingFormat("text")
	var b strings.Builder
	if err := f.Write(&b, doc); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// What cannot be drawn is said with what could be, what was typed stays, and
// nothing typed becomes markup.
func TestExercisesThatCannotBe(t *testing.T) {
	h := bench(t, web.Options{Loopback: true})
	for _, c := range []struct{ query, says, kept string }{
		{"seed=spring+term", "The seed is a whole number from 0 to 18446744073709551615", `value="spring term"`},
		{"seed=-1", "The seed is a whole number", `value="-1"`},
		{"seed=18446744073709551616", "The seed is a whole number", `value="18446744073709551616"`},
		{"students=0", "Students: a number from 1 to 200", `value="0"`},
		{"students=1000000000", "Students: a number from 1 to 200", `value="1000000000"`},
		{"students=3&sheet=4", "Sheet: a number from 1 to 3", ""},
		{"count=51", "Questions on a sheet: a number from 1 to 50", `value="51"`},
		{"kind=riddle", "No kind of question is called &#34;riddle&#34;; have curve", ""},
		{"system=gold", "No questions are about &#34;gold&#34;", ""},
		{"system=EDTA&kind=halides", "None of the kinds halides is about EDTA", ""},
		{"students=200&sheet=all", "200 sheets of 18 questions are 3600; 400 are drawn at a time", `value="200"`},
		{"seed=%3Cscript%3Ealert(1)%3C/script%3E", "The seed is a whole number", "&lt;script&gt;alert(1)&lt;/script&gt;"},
		{"kind=%3Cimg%20src=x%3E", "&lt;img src=x&gt;", ""},
	} {
		for _, page := range []string{"/exercises?", "/exercises/key?", "/exercises/file/sheets.html?"} {
			if strings.HasPrefix(page, "/exercises/file") && strings.HasPrefix(c.query, "students=200") {
				continue // a file takes that many
			}
			code, header, text := ask(t, h, "GET", page+c.query, nil)
			if code != http.StatusBadRequest || !strings.Contains(text, c.says) || strings.Contains(text, "<script>alert") || strings.Contains(text, "<img src=x") {
				t.Errorf("%s%s: %d, does not say %q", page, c.query, code, c.says)
			}
			if !strings.HasPrefix(page, "/exercises/file") && !strings.Contains(text, c.kept) {
				t.Errorf("%s%s: %q is gone", page, c.query, c.kept)
			}
			if header.Get("Content-Disposition") != "" {
				t.Errorf("%s%s: an error is sent as a file", page, c.query)
			}
		}
	}
	many := "/exercises?students=200&sheet=200&count=1" + strings.Repeat("&kind=content", 1000)
	if code, _, _ := ask(t, h, "GET", many, nil); code != http.StatusOK {
		t.Errorf("one question of a kind named often: %d", code)
	}
	if code, _, _ := ask(t, h, "GET", "/exercises?"+strings.Repeat("kind=content&", 401), nil); code != http.StatusBadRequest {
		t.Errorf("401 questions: %d", code)
	}
}

// The same as JSON.
func TestExerciseAPI(t *testing.T) {
	h := bench(t, web.Options{Loopback: true})
	answer := func(body string) (code int, a struct {
		Kinds    []struct{ Name, System string }
		Document string
		Problem  *struct{ Message string }
	},
	) {
		t.Helper()
		w := post(h, "http://localhost/api/exercise", "application/json", strings.NewReader(body))
		if w.Code == http.StatusOK {
			if err := json.Unmarshal(w.Body.Bytes(), &a); err != nil {
				t.Fatal(err)
			}
		}
		return w.Code, a
	}
	code, a := answer(`{"kinds": ["curve"], "seed": 7, "students": 2}`)
	if code != http.StatusOK || a.Document != sheetText(t, 7, []string{"curve"}, []int{1, 2}, false) || len(a.Kinds) != len(exercise.Kinds) {
		t.Errorf("%d: %d kinds, %s", code, len(a.Kinds), a.Document)
	}
	if code, a = answer(`{"kinds": ["curve"], "seed": 7, "sheet": 2, "key": true}`); code != http.StatusOK || a.Document != sheetText(t, 7, []string{"curve"}, []int{2}, true) {
		t.Errorf("%d: %s", code, a.Document)
	}
	if code, a = answer(`{"kinds": ["riddle"], "seed": 7}`); code != http.StatusOK || a.Problem == nil || !strings.Contains(a.Problem.Message, "have curve") || len(a.Kinds) == 0 {
		t.Errorf("an unknown kind: %d, %v", code, a.Problem)
	}
	for _, body := range []string{`{"seed": "spring"}`, `{"seed": -1}`, `{"seed": 1.5}`, `{"seed": 1, "students": 1000000000}`, `{"seed": 1, "count": -1}`, `{"seed": 1, "format": "docx"}`, `{}`, `[]`} {
		if code, _ := answer(body); code != http.StatusUnprocessableEntity {
			t.Errorf("%s: %d", body, code)
		}
	}
	if text := get(t, h, "http://localhost/api/openapi.json").Body.String(); !strings.Contains(text, "/api/exercise") {
		t.Error("the description does not name the operation")
	}
}

// A teacher draws sheets from the page and turns to the next; on paper stands
// the sheet alone.
func TestExercisesByHand(t *testing.T) {
	ctx, address := browser.Start(t, bench(t, web.Options{Loopback: true}))
	for _, l := range browser.Looks {
		for _, path := range []string{"/exercises", "/exercises/key?kind=calcium&students=2", "/exercises?seed=x"} {
			browser.Open(t, ctx, l, address+path)
			browser.Accessible(t, ctx)
			browser.Picture(t, ctx, "exercises-"+strconv.Itoa(len(path))+"-"+l.Name)
			if !browser.Run[bool](t, ctx, "measuring", chromedp.Evaluate[bool](`document.documentElement.scrollWidth <= innerWidth`)) {
				t.Errorf("%s runs over the edge on %s", path, l.Name)
			}
		}
	}
	browser.Open(t, ctx, browser.Desktop, address+"/exercises")
	browser.Run[bool](t, ctx, "choosing", chromedp.Evaluate[bool](`(() => {
		document.querySelector(".draw details").open = true;
		for (const e of document.querySelectorAll("[name=kind]")) e.checked = e.value === "halides";
		document.getElementById("students").value = "5"; document.getElementById("seed").value = "11";
		return true})()`))
	click := func(words string) {
		t.Helper()
		browser.Run[bool](t, ctx, "clicking "+words, chromedp.Evaluate[bool](`(setTimeout(() => [...document.querySelectorAll("main a, main button")].find((e) => e.textContent === "`+words+`").click()), true)`))
	}
	see := func(words string) {
		t.Helper()
		soon(t, ctx, "seeing "+words, `document.readyState === "complete" && (document.querySelector("main")?.innerText ?? "").includes("`+words+`")`)
	}
	click("Draw the sheets")
	see("Sheet 1 of 5")
	click("The next one")
	see("Problem sheet 2")
	click("The key, with the working")
	see("Key to problem sheet 2")
	where, err := url.Parse(browser.Run[string](t, ctx, "reading the address", chromedp.Evaluate[string](`location.href`)))
	if err != nil || where.Path != "/exercises/key" || !slices.Equal(where.Query()["kind"], []string{"halides"}) || where.Query().Get("seed") != "11" {
		t.Errorf("the key is at %s, %v", where, err)
	}
	click("All on one page")
	see("Key to problem sheet 5")
	time.Sleep(50 * time.Millisecond) // the click left that page
	browser.Paper(t, ctx)
	const seen = `[...document.querySelectorAll("nav, form, .margin, header, h1")].filter((e) => e.getClientRects().length).length`
	if n := browser.Run[int](t, ctx, "looking", chromedp.Evaluate[int](seen)); n != 0 {
		t.Errorf("%d parts of the page stand on paper beside the sheet", n)
	}
}
