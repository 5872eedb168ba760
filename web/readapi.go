package web

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"strings"

	"github.com/danielgtaylor/huma/v2"

	"meniscus/curve"
	"meniscus/plan"
	"meniscus/report"
	"meniscus/setup"
	"meniscus/store"
	"meniscus/uncertainty"
	"meniscus/unit"
)

type runPath struct {
	Record string `path:"record" maxLength:"40" doc:"id of the record"`
	Run    int64  `path:"run" minimum:"0" doc:"number of the run within the record; 0 is the first, which a first reading begins"`
	Known  string `cookie:"author"`
}

type runOutput struct{ Body runState }

// The library of the API sees no embedded fields of a type of our own, so they
// are written out.
type readingsInput struct {
	Record string `path:"record" maxLength:"40" doc:"id of the record"`
	Run    int64  `path:"run" minimum:"0" doc:"number of the run within the record; 0 is the first, which a first reading begins"`
	Known  string `cookie:"author"`
	Body   readingsRequest
}

type readingsRequest struct {
	Author   string         `json:"author,omitempty" maxLength:"200" doc:"who took the readings"`
	Last     int64          `json:"last" minimum:"0" doc:"number of the newest row that the sender knows. If there are later ones nothing is kept"`
	Readings []readingEntry `json:"readings" minItems:"1" maxItems:"1000"`
}

// A readingEntry is a reading to keep: a new one, or one in place of an
// earlier row.
type readingEntry struct {
	Volume      string      `json:"volume,omitempty" maxLength:"100" doc:"mL, as typed"`
	Value       string      `json:"value,omitempty" maxLength:"100" doc:"in the unit of the run, as typed"`
	Time        string      `json:"time,omitempty" maxLength:"100" doc:"s"`
	Temperature string      `json:"temperature,omitempty" maxLength:"100" doc:"°C"`
	State       store.State `json:"state,omitempty" enum:"kept,left out,withdrawn"`
	Why         string      `json:"why,omitempty" maxLength:"500" doc:"needed to replace, leave out or withdraw"`
	Replaces    int64       `json:"replaces,omitempty" minimum:"0" doc:"number of the row it supersedes"`
}

type runRequest struct {
	Author  string `json:"author,omitempty" maxLength:"200"`
	Name    string `json:"name,omitempty" maxLength:"200"`
	Kind    string `json:"kind,omitempty" enum:"sample,blank"`
	Unit    string `json:"unit,omitempty" enum:"mV,V,pH,pIon"`
	Aliquot string `json:"aliquot,omitempty" maxLength:"100"`
}

type addRunInput struct {
	Record string `path:"record" maxLength:"40"`
	Known  string `cookie:"author"`
	Body   runRequest
}

// A behindAnswer refuses readings from one who does not know the newest rows,
// and shows them.
type behindAnswer struct {
	Title   string   `json:"title"`
	Status  int      `json:"status"`
	Detail  string   `json:"detail"`
	Current runState `json:"current"`
}

func (e *behindAnswer) Error() string  { return e.Detail }
func (e *behindAnswer) GetStatus() int { return e.Status }

// addReadAPI adds the operations of the Read page.
func (s *Server) addReadAPI(api huma.API) {
	huma.Register(api, huma.Operation{
		OperationID: "run", Method: http.MethodGet, Path: "/api/records/{record}/runs/{run}",
		Summary: "A run with its current readings", Description: "The readings as typed and as numbers, and what looks doubtful about them.",
	}, func(ctx context.Context, in *runPath) (*runOutput, error) { return s.answerRun(ctx, in.Record, in.Run) })
	huma.Register(api, huma.Operation{
		OperationID: "add-readings", Method: http.MethodPost, Path: "/api/records/{record}/runs/{run}/readings", MaxBodyBytes: maxBody,
		Summary:     "Keep readings",
		Description: "Appends rows to a run, all or none. The answer comes after they are safe on disk. A reading is changed, left out or withdrawn by a row that replaces it, with a reason.",
		Responses:   map[string]*huma.Response{"409": {Description: "there are rows that the sender does not know; they are in the answer, and nothing was kept"}},
	}, s.addReadings)
	huma.Register(api, huma.Operation{
		OperationID: "add-run", Method: http.MethodPost, Path: "/api/records/{record}/runs", MaxBodyBytes: maxBody,
		Summary: "Begin another run", Description: "A run is one titration of a determination: a sample or a blank.",
	}, s.addRun)
	huma.Register(api, huma.Operation{
		OperationID: "next-addition", Method: http.MethodGet, Path: "/api/records/{record}/runs/{run}/next",
		Summary: "What to add next", Description: "Plans the rest of the titration anew after the readings so far.",
	}, s.nextAddition)
}

// apiError gives an error of the store its status; others are the program's own
// fault and go to the terminal.
func (s *Server) apiError(err error) error {
	var se *statusError
	if of := ofStore(err); of != nil {
		se = of
	}
	if se != nil || errors.As(err, &se) {
		return huma.NewError(se.status, se.message)
	}
	s.opt.Report(err)
	return huma.Error500InternalServerError("the program met an error of its own and has written it to its terminal")
}

// recordOf reads a record for an operation.
func (s *Server) recordOf(ctx context.Context, id string) (store.Record, error) {
	if s.opt.Store == nil {
		return store.Record{}, notFound("This bench keeps no records.")
	}
	return s.opt.Store.Record(ctx, id)
}

func (s *Server) answerRun(ctx context.Context, record string, run int64) (*runOutput, error) {
	rec, err := s.recordOf(ctx, record)
	if err != nil {
		return nil, s.apiError(err)
	}
	st, err := s.runOf(ctx, rec, run)
	if err != nil {
		return nil, s.apiError(err)
	}
	return &runOutput{st}, nil
}

// actor is who acts: the one named, or the one this browser had before.
func actor(named, cookie string) (store.By, error) {
	name := strings.TrimSpace(named)
	if name == "" {
		name, _ = url.QueryUnescape(cookie)
	}
	if name == "" || len(name) > 200 {
		return store.By{}, huma.Error400BadRequest("Not kept: a reading says who took it. Fill in your name.")
	}
	return store.By{Author: name}, nil
}

func (s *Server) addReadings(ctx context.Context, in *readingsInput) (*runOutput, error) {
	by, err := actor(in.Body.Author, in.Known)
	if err != nil {
		return nil, err
	}
	rec, err := s.recordOf(ctx, in.Record)
	if err != nil {
		return nil, s.apiError(err)
	}
	run := in.Run
	if run == 0 {
		if run, err = s.firstRun(ctx, rec, by); err != nil {
			return nil, s.apiError(err)
		}
	}
	list := make([]store.Entry, len(in.Body.Readings))
	for i, e := range in.Body.Readings {
		list[i] = store.Entry{Volume: e.Volume, Value: e.Value, Time: e.Time, Temperature: e.Temperature, State: e.State, Why: e.Why, Replaces: e.Replaces}
	}
	_, err = s.opt.Store.AppendAfter(ctx, rec.ID, run, in.Body.Last, by, list...)
	if errors.As(err, new(*store.BehindError)) || errors.As(err, new(*store.ConflictError)) {
		now, other := s.runOf(ctx, rec, run)
		if other != nil {
			return nil, s.apiError(other)
		}
		return nil, &behindAnswer{http.StatusText(http.StatusConflict), http.StatusConflict, "Not kept: the run was changed meanwhile.", now}
	}
	if err != nil {
		return nil, s.apiError(err)
	}
	return s.answerRun(ctx, rec.ID, run)
}

func (s *Server) addRun(ctx context.Context, in *addRunInput) (*runOutput, error) {
	by, err := actor(in.Body.Author, in.Known)
	if err != nil {
		return nil, err
	}
	if _, err := s.recordOf(ctx, in.Record); err != nil {
		return nil, s.apiError(err)
	}
	d, err := s.opt.Store.Outline(ctx, in.Record)
	if err != nil {
		return nil, s.apiError(err)
	}
	run := completeRun(store.Run{Name: in.Body.Name, Kind: in.Body.Kind, Unit: in.Body.Unit, Aliquot: in.Body.Aliquot}, d)
	if _, err := aliquot(run); err != nil {
		return nil, huma.Error400BadRequest("No run was added: " + err.Error() + ".")
	}
	if run, err = s.opt.Store.AddRun(ctx, in.Record, run, by); err != nil {
		return nil, s.apiError(err)
	}
	return s.answerRun(ctx, in.Record, run.No)
}

type nextOutput struct{ Body nextAnswer }

// A nextAnswer says what to add now, in words and numbers.
type nextAnswer struct {
	Schema   string   `json:"schema"`
	Last     int64    `json:"last" doc:"newest row that the answer rests on"`
	Stop     bool     `json:"stop"`
	Do       string   `json:"do" doc:"what to do now, in words; empty where no plan can be made"`
	Why      string   `json:"why"`
	Known    []string `json:"known" doc:"what the readings tell so far"`
	Volume   *float64 `json:"volume_mL" doc:"added in all then"`
	Burette  *float64 `json:"burette_mL" doc:"what the burette shows then"`
	Warnings []string `json:"warnings"`
	Refusal  string   `json:"refusal,omitempty" doc:"why no plan can be made"`
}

func (s *Server) nextAddition(ctx context.Context, in *runPath) (*nextOutput, error) {
	rec, err := s.recordOf(ctx, in.Record)
	if err != nil {
		return nil, s.apiError(err)
	}
	r, long, err := s.plannable(ctx, in.Record, in.Run)
	if err != nil {
		return nil, s.apiError(err)
	}
	out := &nextOutput{nextAnswer{Schema: "meniscus.bench.next/1", Last: r.Last, Known: []string{}, Warnings: []string{}}}
	var x *plan.Next
	if err = long; err == nil {
		x, err = planNext(rec, r)
	}
	if err != nil {
		out.Body.Refusal = report.Typeset(err.Error())
		return out, nil
	}
	out.Body.say(x)
	return out, nil
}

// mostPlanned is how many readings a next addition is planned from: the page
// asks after each reading, and a fit of so many already takes seconds. Nobody adds
// by hand that often.
const mostPlanned = 1000

// plannable is a run with its readings, or with the reason why it is too long to
// plan. No more are read than are used.
func (s *Server) plannable(ctx context.Context, record string, run int64) (r store.RunReadings, tooLong, err error) {
	var list []store.Reading
	long := fmt.Errorf("the run has more than %d readings, and the next addition is planned from at most so many; all of them are kept, and stand in the exports", mostPlanned)
	r, err = s.opt.Store.EachReading(ctx, record, run, func(_ store.Run, q *store.Reading) error {
		if len(list) == mostPlanned {
			return long
		}
		list = append(list, *q)
		return nil
	})
	if errors.Is(err, long) {
		return r, long, nil
	}
	r.Readings = list
	return r, nil, err
}

func planNext(rec store.Record, r store.RunReadings) (*plan.Next, error) {
	if r.Run.Kind == store.Blank {
		return nil, errors.New("a blank is not planned: add in small steps from the start")
	}
	st, err := setup.Read([]byte(rec.Setup), "setup")
	if err != nil {
		return nil, fmt.Errorf("the setup cannot be used yet: %w", err)
	}
	if st.Titration == nil {
		return nil, errors.New("the setup gives only a ratio; a plan needs species under flask and burette")
	}
	c := &curve.Curve{}
	if len(r.Readings) > 0 {
		read, _, err := readRun(r)
		if err != nil {
			return nil, err
		}
		if read != nil {
			c = read
		}
	}
	return plan.NewNext(c, st, plan.NextOptions{})
}

func (a *nextAnswer) say(x *plan.Next) {
	a.Stop, a.Why = x.Stop, inWords(x.Why)
	if x.Stop {
		a.Do = "Stop here."
	} else {
		v, b := round6(x.Volume), round6(x.Burette)
		a.Volume, a.Burette = &v, &b
		a.Do = fmt.Sprintf("Add %.2f mL: the burette then shows %.2f mL.", x.Add.Millilitres(), x.Burette.Millilitres())
	}
	for _, r := range x.Reached {
		value, u := uncertainty.Round(r.Value, r.StdUnc)
		words := inWords(r.Name) + " " + strings.ReplaceAll(value, "-", "−") + " ± " + u
		if r.Unit != "" {
			words += " " + r.Unit
		}
		a.Known = append(a.Known, words+" (standard uncertainty), by "+x.From)
	}
	for _, w := range x.Warnings {
		a.Warnings = append(a.Warnings, inWords(w))
	}
}

// inWords spells out the sign of the equivalence volume, which has a lowered
// part that a sentence cannot show.
func inWords(text string) string {
	return strings.ReplaceAll(report.Typeset(text), "V_eq", "equivalence volume")
}

// round6 is a volume in mL without the dust of binary fractions.
func round6(v unit.Volume) float64 { return typedNumber(fmt.Sprintf("%.6f", v.Millilitres())) }
