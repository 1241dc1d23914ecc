package measure

import (
	"fmt"
	"math"

	"example.org/primaries/colorimetry"
)

// Precision is what a reading is to reach: integrations are taken until the
// standard uncertainty of their mean is as small as wanted. The dark, where an
// integration says least, so gets most of them. The zero value wants nothing.
type Precision struct {
	Luminance float64 // standard uncertainty of Y as a share of Y; 0 = any
	UV        float64 // that of the place in the u'v' diagram, see Reading.SpreadUV; 0 = any
	// Least and Most bound the integrations, 1 to 1000; 0 = 2 and 16. Two show
	// the scatter, which a single one hides.
	Least, Most int
}

const (
	defaultLeast = 2
	defaultMost  = 16
)

func (p Precision) wanted() bool { return p != Precision{} }

func (p Precision) withDefaults() (Precision, error) {
	if p.Least == 0 {
		p.Least = defaultLeast
		if p.Most != 0 {
			p.Least = min(p.Least, p.Most)
		}
	}
	if p.Most == 0 {
		p.Most = max(defaultMost, p.Least)
	}
	ok := p.Luminance >= 0 && p.UV >= 0 && p.Luminance+p.UV > 0 && !math.IsInf(p.Luminance+p.UV, 0)
	if !ok || p.Least < 1 || p.Most < p.Least || p.Most > maxIntegrations {
		return p, fmt.Errorf("measure: a precision of %g of Y and %g in u'v' with %d to %d integrations; at least one figure above 0 and 1 to %d integrations are needed",
			p.Luminance, p.UV, p.Least, p.Most, maxIntegrations)
	}
	return p, nil
}

// enough reports whether the integrations so far reach what p asks for. The
// uncertainty is that which Reading.Covariance will state: of the instrument's
// noise at this light, as large as all readings before show it to be. The
// reading's own few repeats have no say unless they stand out of their fellows,
// since stopping where they happen to agree would make every reading look
// better than it is.
func (s *Session) enough(p patchRecord, repeats []colorimetry.XYZ) bool {
	if p.Most == 0 || len(repeats) >= p.Most {
		return len(repeats) >= p.Integrations
	}
	if len(repeats) < p.Integrations {
		return false
	}
	rec := readingRecord{Index: p.Index, Raw: mean(repeats), Repeats: repeats}
	pool := s.pool[poolOf(p)]
	r, _ := s.weigh(newReading(p, rec), &pool)
	share, uv := r.SpreadShare(), r.SpreadUV()
	return (p.Luminance == 0 || share > 0 && share <= p.Luminance) && (p.UV == 0 || uv > 0 && uv <= p.UV)
}
