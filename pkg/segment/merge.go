package segment

import (
	"context"

	"github.com/cusptrace/cusptrace/pkg/dentition"
)

// crowns cuts the crowns of a row out of the scan: along valleys alone, and where a picture
// shows the arch by what it shows as well. A crown of the back is taken from the cut that covers
// better what the picture shows of it. One of the front, whose outer face lies out of sight or looks
// like gingiva, is taken from the valleys unless they lose half of what the picture shows, and so
// is one of which it shows little.
func (s *surface) crowns(ctx context.Context, p *picture, r *reading) ([]dentition.ToothID, error) {
	codes, err := cutOut(ctx, s, r.band, r.jaw, r.row)
	if err != nil || p == nil {
		return codes, err
	}
	crowns, owner := claim(p, r.looks, r.jaw, r.row)
	spots := s.spots(p)
	carved, err := carve(ctx, s, p, crowns, owner, spots)
	if err != nil {
		return nil, err
	}
	var byPicture [256]bool
	for _, c := range crowns {
		either, shown := s.covers(codes, c, owner, spots)
		better, _ := s.covers(carved, c, owner, spots)
		byPicture[c.tooth] = !c.small && (shown < lostMost || c.tooth.Position() > 3 && better > either)
	}
	for v, t := range carved {
		switch {
		case byPicture[t]:
			codes[v] = t
		case byPicture[codes[v]]:
			codes[v] = t // what the other cut gives it, if anything
		}
	}
	s.peel(codes)
	return codes, nil
}

// lostMost is the share of what the picture shows of a crown that the valleys must cover.
const lostMost = 0.5

// covers is how well a cut covers what the picture shows of a crown: the surface in both over
// that in either (intersection over union), and over that shown.
func (s *surface) covers(codes []dentition.ToothID, c *crown, owner []int32, spots []spot) (ofEither, ofShown float64) {
	both, either, all := 0.0, 0.0, 0.0
	for v, q := range spots {
		if !q.visible {
			continue
		}
		shown, cut := owner[q.pixel] == c.number, codes[v] == c.tooth
		if shown && cut {
			both += s.area[v]
		}
		if shown || cut {
			either += s.area[v]
		}
		if shown {
			all += s.area[v]
		}
	}
	return both / max(either, 1e-9), both / max(all, 1e-9)
}
