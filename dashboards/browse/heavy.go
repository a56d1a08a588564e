package browse

import (
	"context"
	"errors"
	"net/http"
	"time"
)

// mostHeavy is how many logs, results and jobs are read at a time: each may take a gigabyte and a processor.
const mostHeavy = 2

// heavyPatience is how long a reader waits for its turn, well below the time in which an answer must be written.
const heavyPatience = 20 * time.Second

var errCrowded = errors.New("the server is busy with other logs; try again in a moment")

// heavy hands out the turns for heavy reads.
type heavy chan struct{}

// take waits for a turn, at most for the patience or until ctx ends; done gives it back.
func (h heavy) take(ctx context.Context, patience time.Duration) (done func(), err error) {
	t := time.NewTimer(patience)
	defer t.Stop()
	select {
	case h <- struct{}{}:
		return func() { <-h }, nil
	case <-ctx.Done():
		return nil, ctx.Err()
	case <-t.C:
		return nil, errCrowded
	}
}

// turn waits for a turn on behalf of a request, and answers it where none comes.
func (s *Server) turn(w http.ResponseWriter, r *http.Request) (done func(), ok bool) {
	done, err := s.heavy.take(r.Context(), heavyPatience)
	if err != nil {
		w.Header().Set("Retry-After", "5")
		s.fail(w, http.StatusServiceUnavailable, "The server is busy with other logs; try again in a moment.")
		return nil, false
	}
	return done, true
}
