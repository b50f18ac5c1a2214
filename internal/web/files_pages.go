package web

import (
	"fmt"
	"net/http"

	"weephole/internal/store"
)

// filesView is the page of a job's logs and photos.
type filesView struct {
	Strip   *strip
	ID, Car string
	Files   []fileRow
}

type fileRow struct {
	store.File
	Amount string // its size, said
	Rests  string // the finding that rests on it; "" it can be removed
}

// PageTitle is the title of the page.
func (v filesView) PageTitle() string { return "Logs and photos of " + v.Car }

func (pg *recordPages) filesPage(r *http.Request) (any, error) {
	s, sum, err := pg.stateAndSummary(r)
	if err != nil {
		return nil, err
	}
	files, err := pg.store.Files(r.Context(), s.ID)
	if err != nil {
		return nil, err
	}
	v := filesView{ID: s.ID, Car: sum.Car}
	for _, f := range files {
		row := fileRow{File: f, Amount: amount(f.Size)}
		for _, x := range s.Standing() {
			if restsOn(x.Body) == f.Name {
				row.Rests = pg.says(&x)
			}
		}
		v.Files = append(v.Files, row)
	}
	v.Strip, err = pg.stripFor(r, s)
	return v, err
}

// amount is a size as people say it.
func amount(bytes int64) string {
	switch {
	case bytes < 1000:
		return fmt.Sprintf("%d bytes", bytes)
	case bytes < 1000*1000:
		return fmt.Sprintf("%d KB", (bytes+500)/1000)
	}
	return fmt.Sprintf("%.1f MB", float64(bytes)/1e6)
}

func (pg *recordPages) removeFile(r *http.Request) (string, error) {
	_, err := pg.api.files.removeFile(nil, r)
	return "/jobs/" + r.PathValue("id") + "/files", err
}
