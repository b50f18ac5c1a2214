package web

import (
	"context"
	"net/http"
	"strconv"
	"time"

	"weephole/internal/answer"
	"weephole/internal/web/answers"
)

// longestWait is how long a request waits for an answer: judgement, well above
// the time of drawing a lineup.
const longestWait = 60 * time.Second

// answersAPI tells the odds, the next step, the plan and how much cooling is left.
type answersAPI struct {
	*jobs
}

func (ap *answersAPI) routes() []route {
	return []route{
		{method: "GET", path: "/api/jobs/{id}/odds", name: "getOdds", about: "What still fits, most probable first.", params: []param{atLeast, {"query", "stage", "fine: wait for the fine answer", "string"}}, out: OddsReply{}, status: 200, do: ap.getOdds},
		{method: "GET", path: "/api/jobs/{id}/next", name: "getNext", about: "What to do next, the least expected cost first; the quote judged.", params: []param{atLeast}, out: NextReply{}, status: 200, do: ap.getNext},
		{method: "GET", path: "/api/jobs/{id}/margin", name: "getMargin", about: "How much cooling is left in each way of driving, as the car is and after the repair.", params: []param{atLeast}, out: MarginReply{}, status: 200, do: ap.getMargin},
		{method: "GET", path: "/api/jobs/{id}/drive", name: "getDrive", about: "Whether the car gets through a trip as it is, what would help, and where to stop.", params: driven, out: answer.TripFacts{}, status: 200, do: ap.getDrive},
		{method: "GET", path: "/api/jobs/{id}/expected", name: "getExpected", about: "What each check would show now on a healthy engine and under the leading causes.", params: []param{atLeast}, out: []answer.ExpectedFacts{}, status: 200, do: ap.getExpected},
		{method: "GET", path: "/api/jobs/{id}/plan", name: "getPlan", about: "The plan some steps deep, and what it would be if something were otherwise.", params: supposes, out: answers.PlanReply{}, status: 200, do: ap.getPlan},
		{method: "GET", path: "/api/jobs/{id}/plan.svg", name: "getPlanDrawing", about: "The plan drawn as a tree.", params: supposes, gives: "image/svg+xml", status: 200, do: ap.planAs("svg")},
		{method: "GET", path: "/api/jobs/{id}/sheet.html", name: "getBenchSheet", about: "The plan's next steps as one page to print, with boxes to tick.", params: supposes, gives: "text/html", status: 200, do: ap.planAs("html")},
	}
}

// asked has the job worked out, if it is not, and gives the seq that the asker wants.
func (ap *answersAPI) asked(r *http.Request) (id string, seq int64, err error) {
	id = r.PathValue("id")
	s, err := ap.state(r.Context(), id)
	if err != nil {
		return "", 0, err
	}
	seq = s.Seq
	if text := r.FormValue("seq"); text != "" {
		if seq, err = strconv.ParseInt(text, 10, 64); err != nil || seq > s.Seq || seq < 0 {
			return "", 0, wrong(http.StatusBadRequest, "seq %q is no entry of this job; it has %d", text, s.Seq)
		}
	}
	return id, min(seq, evidenceSeq(s)), ap.evaluate(r.Context(), s)
}

// answerError turns an answer that is none into an error.
func answerError(a *answers.Answer, err error) error {
	if err == nil && a.Problem != "" {
		return wrong(http.StatusUnprocessableEntity, "%s", a.Problem)
	}
	return err
}

func (ap *answersAPI) getOdds(_ http.ResponseWriter, r *http.Request) (any, error) {
	id, seq, err := ap.asked(r)
	if err != nil {
		return nil, err
	}
	stage := r.FormValue("stage")
	if stage != "" && stage != answers.Coarse && stage != answers.Fine {
		return nil, wrong(http.StatusBadRequest, "stage %q: write coarse or fine", stage)
	}
	ctx, cancel := context.WithTimeout(r.Context(), longestWait)
	defer cancel()
	a, err := ap.warm.Answer(ctx, id, seq, stage)
	if err := answerError(a, err); err != nil {
		return nil, err
	}
	return OddsReply{a.Seq, a.Stage, a.Odds}, nil
}

// planned waits for an answer with the next step.
func (ap *answersAPI) planned(r *http.Request) (*answers.Answer, error) {
	id, seq, err := ap.asked(r)
	if err != nil {
		return nil, err
	}
	ctx, cancel := context.WithTimeout(r.Context(), longestWait)
	defer cancel()
	a, err := ap.warm.Planned(ctx, id, seq)
	if err := answerError(a, err); err != nil {
		return nil, err
	}
	return a, nil
}

func (ap *answersAPI) getNext(_ http.ResponseWriter, r *http.Request) (any, error) {
	a, err := ap.planned(r)
	if err != nil {
		return nil, err
	}
	return NextReply{a.Seq, a.Stage, a.Next}, nil
}

func (ap *answersAPI) getMargin(_ http.ResponseWriter, r *http.Request) (any, error) {
	a, err := ap.planned(r)
	if err != nil {
		return nil, err
	}
	if a.Margin == nil {
		return nil, wrong(http.StatusUnprocessableEntity, "no simulated engine fits what was found, so nothing is known of the margin; look at the findings again")
	}
	return MarginReply{a.Seq, a.Stage, a.Margin}, nil
}

func (ap *answersAPI) getExpected(_ http.ResponseWriter, r *http.Request) (any, error) {
	a, err := ap.planned(r)
	if err != nil {
		return nil, err
	}
	return a.Expected, nil
}
