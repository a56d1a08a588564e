package browse

import (
	"html/template"
	"net/http"
	"path"

	"flywitness/analysis"
	"flywitness/dashboards/chart"
	"flywitness/dashboards/plots"
	"flywitness/dashboards/text"
	"flywitness/drive"
	"flywitness/job"
)

// zoomColumns is how fine the curves of a log stay: an hour at 10 Hz is all there.
const zoomColumns = 9000

type logPage struct {
	frame
	Path         string
	Rows         int
	Skipped      int
	Length, Hash string
	Drawn        template.HTML
	Caption      string
	Data         *chart.Data
	Words        text.Summary
	Channels     []analysis.InputChannel
}

// log shows a log as a chart, with gear and slip bands where they can be told.
func (s *Server) log(w http.ResponseWriter, r *http.Request) {
	p := r.PathValue("path")
	f, err := s.open(p, mostLog)
	if err != nil || !job.IsRecording(path.Base(p)) {
		s.fail(w, http.StatusNotFound, "There is no such log.")
		return
	}
	defer f.Close()
	done, ok := s.turn(w, r)
	if !ok {
		return
	}
	defer done()
	l, err := s.analyst.Read(f, p)
	if err != nil {
		s.fail(w, http.StatusUnprocessableEntity, s.own(err))
		return
	}
	v := s.logPage(p, l)
	s.page(w, http.StatusOK, "log.html", v.frame, v)
}

func (s *Server) logPage(p string, l *drive.Log) logPage {
	res := s.analyst.Judge(l)
	c := plots.Log(l, res.Slip, s.units)
	v := logPage{frame: s.frame(path.Base(p), c.Zoomable()), Path: p, Rows: l.Rows, Skipped: l.Skipped, Hash: l.SHA256, Caption: c.Caption,
		Drawn: c.Pictures(), Words: text.Of(res, s.units)}
	first, last := l.Span()
	v.Length = chart.Clock(last - first)
	if len(res.Inputs) > 0 {
		v.Channels = res.Inputs[0].Channels
	}
	if v.Page.Script != "" {
		d := c.Data(zoomColumns)
		v.Data = &d
	}
	return v
}
