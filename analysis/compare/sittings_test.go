package compare

import (
	"testing"

	"flywitness/analysis/drag"
)

// Who cannot show sameness in a fortnight of a sitting a day is told so, and not sent out for a month.
func TestHowManySittingsAreOffered(t *testing.T) {
	most := 0
	for margin := 0.1; margin > 0.01; margin *= 0.995 {
		if m, ok := fewestForSame(margin, 6, 0.015, drag.Options{Checklist: true, SameDay: true}); ok {
			most = max(most, m)
		}
	}
	if most < 5 || most > 15 {
		t.Errorf("%d sittings a side are offered", most)
	}
}

// Sameness that is offered is wider than what is asked for by itself, and narrower than a change that is worth finding.
func TestSamenessThatIsOffered(t *testing.T) {
	if asked := (&Options{}).margin(); offeredMargin <= asked || offeredMargin >= target {
		t.Errorf("offered %v, asked for %v, a change of %v is worth finding", offeredMargin, asked, target)
	}
}
