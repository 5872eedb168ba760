package web

import (
	"context"
	"net/http"
	"runtime"

	"github.com/danielgtaylor/huma/v2"

	"meniscus/plan"
	"meniscus/report"
	"meniscus/setup"
)

type feasibilityInput struct{ Body feasibilityRequest }

type feasibilityRequest struct {
	Setup    string  `json:"setup" maxLength:"1000000" doc:"the text of a setup file"`
	Accuracy float64 `json:"accuracy_percent,omitempty" minimum:"0" exclusiveMaximum:"20" doc:"relative accuracy wanted; 0 for 0.1"`
}

type feasibilityOutput struct{ Body feasibility }

type feasibility struct {
	Schema  string           `json:"schema"`
	Plan    *report.PlanView `json:"plan,omitempty"`
	Problem *problem         `json:"problem,omitempty" doc:"why there is no plan"`
}

// planners is how many plans are made at a time: one takes a second or two of
// a processor, and the curves of others shall not wait for it.
func planners() chan struct{} { return make(chan struct{}, max(1, runtime.GOMAXPROCS(0)/2)) }

func (s *Server) addFeasibility(api huma.API) {
	huma.Register(api, huma.Operation{
		OperationID: "feasibility", Method: http.MethodPost, Path: "/api/feasibility", MaxBodyBytes: maxBody,
		Summary:     "Whether and how to titrate",
		Description: "Plans the titration of a setup: verdict, jump, aliquot, indicators, where to read, titrants, conditions and cautions. A setup that cannot be planned is an answer too: problem says where and what. A request that is given up ends the work.",
	}, func(ctx context.Context, in *feasibilityInput) (*feasibilityOutput, error) {
		select {
		case s.planners <- struct{}{}:
			defer func() { <-s.planners }()
		case <-ctx.Done():
			return nil, huma.Error503ServiceUnavailable("given up while it waited for its turn")
		}
		out := plannable(ctx, in.Body)
		if ctx.Err() != nil {
			return nil, huma.Error503ServiceUnavailable("given up before the plan was made")
		}
		return &feasibilityOutput{Body: *out}, nil
	})
}

// plannable answers a request. What is wrong with the setup is in the answer.
func plannable(ctx context.Context, req feasibilityRequest) *feasibility {
	out := &feasibility{Schema: "meniscus.bench.feasibility/1"}
	st, err := setup.Read([]byte(req.Setup), "setup")
	if err != nil {
		out.Problem = explainProblem(err)
		return out
	}
	p, err := plan.For(st, plan.Options{Accuracy: req.Accuracy / 100, Going: ctx.Err})
	if err != nil {
		out.Problem = explainProblem(err)
		return out
	}
	v := report.ViewPlan(p)
	out.Plan = &v
	return out
}
