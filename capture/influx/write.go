package influx

import (
	"context"
	"strings"
)

// writeLines sends lines and returns when the server holds them.
func (s *Server) writeLines(ctx context.Context, lines []string) *Fault {
	ctx, cancel := context.WithTimeout(ctx, 4*s.opt.Patience) // a server that answers drop by drop
	defer cancel()
	if err := s.write.WriteRecord(ctx, strings.Join(lines, "\n")); err != nil {
		return s.fault(err)
	}
	return nil
}
