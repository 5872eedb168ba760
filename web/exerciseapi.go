package web

import (
	"context"
	"errors"
	"net/http"
	"strconv"

	"github.com/danielgtaylor/huma/v2"

	"meniscus/exercise"
)

type exerciseRequest struct {
	Kinds    []string `json:"kinds,omitempty" maxItems:"50" doc:"kinds of question, as the answer lists them; none for all"`
	System   string   `json:"system,omitempty" maxLength:"100" doc:"only kinds about this system"`
	Count    int      `json:"count,omitempty" minimum:"0" maximum:"50" doc:"questions on a sheet; 0 for one of each kind"`
	Students int      `json:"students,omitempty" minimum:"0" maximum:"200" doc:"sheets, numbered from 1; 0 for one"`
	Sheet    int      `json:"sheet,omitempty" minimum:"0" maximum:"200" doc:"the number of the only sheet wanted; 0 for all"`
	Seed     uint64   `json:"seed" doc:"where the numbers come from: the same seed gives the same sheets"`
	Key      bool     `json:"key,omitempty" doc:"the key instead of the sheets"`
	Format   string   `json:"format,omitempty" enum:"text,html,latex" doc:"text if not said"`
}

type exerciseKind struct {
	Name   string `json:"name"`
	Title  string `json:"title"`
	System string `json:"system"`
}

type exerciseAnswer struct {
	Schema   string         `json:"schema"`
	Kinds    []exerciseKind `json:"kinds" doc:"the kinds there are"`
	Document string         `json:"document,omitempty" doc:"the sheets or the key, in the format asked for"`
	Problem  *problem       `json:"problem,omitempty" doc:"why there are none"`
}

func (s *Server) addExercises(api huma.API) {
	huma.Register(api, huma.Operation{
		OperationID: "exercise", Method: http.MethodPost, Path: "/api/exercise", MaxBodyBytes: 64 << 10,
		Summary:     "Problem sheets, or the key to them",
		Description: "Draws problem sheets with numbers of their own, or writes the key with full working. Kinds that there are not, and more questions than are drawn at a time, are answers too: problem says what was found.",
	}, func(ctx context.Context, in *struct{ Body exerciseRequest }) (*struct{ Body exerciseAnswer }, error) {
		out, err := s.exerciseAnswer(ctx, in.Body)
		if errors.Is(err, givenUp) {
			return nil, huma.Error503ServiceUnavailable(givenUp.message)
		}
		if err != nil {
			s.opt.Report(err)
			return nil, huma.Error500InternalServerError("the program met an error of its own")
		}
		return &struct{ Body exerciseAnswer }{*out}, nil
	})
}

// exerciseAnswer answers a request by the rules of the page.
func (s *Server) exerciseAnswer(ctx context.Context, req exerciseRequest) (*exerciseAnswer, error) {
	out := &exerciseAnswer{Schema: "meniscus.bench.exercise/1"}
	for _, k := range exercise.Kinds {
		out.Kinds = append(out.Kinds, exerciseKind{k.Name, k.Title, k.System})
	}
	o := exerciseOrder{
		Kinds: req.Kinds, System: req.System, Seed: strconv.FormatUint(req.Seed, 10),
		Students: strconv.Itoa(max(1, req.Students, req.Sheet)), Sheet: "all",
	}
	if req.Count > 0 {
		o.Count = strconv.Itoa(req.Count)
	}
	if req.Sheet > 0 {
		o.Sheet = strconv.Itoa(req.Sheet)
	}
	text, err := s.written(ctx, o, req.Key, orElse(req.Format, "text"))
	var se *statusError
	if errors.As(err, &se) && se != givenUp {
		out.Problem = &problem{Message: se.message}
		return out, nil
	}
	out.Document = string(text)
	return out, err
}
