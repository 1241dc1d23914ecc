package hardware

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/difference"
	"example.org/primaries/fit/internal/gamutmap"
)

// Diagnostics says what a table does, by the model that it was made of. All
// differences are CIEDE2000 of absolute colours, the wanted white being their
// white.
type Diagnostics struct {
	Nodes int `json:"nodes"` // along each edge
	Bits  int `json:"bits"`
	// White is the wanted white and Black the wanted black, in cd/m². Reachable is
	// the luminance that the display has at that white.
	White     colorimetry.XYZ `json:"white"`
	Black     colorimetry.XYZ `json:"black"`
	Reachable float64         `json:"reachable_cd_m2"`
	// FloorSignal is the signal below which greys cannot have the chromaticity of
	// the white; about there they go over to the display's own black.
	FloorSignal float64 `json:"floor_signal"`
	// Chromatic has the differences between what the table makes the model show and
	// what is wanted, of colours other than greys that the model can show; Greys
	// those of greys. Signals are rounded to the path as they enter and leave.
	Chromatic Figures `json:"chromatic"`
	Greys     Figures `json:"greys"`
	// Beyond has the differences of colours that the model cannot show, and
	// HueTurn the angle in degrees by which their hue turns in Oklab, in the mean.
	Beyond  Figures `json:"beyond"`
	HueTurn float64 `json:"hue_turn_mean_degrees"`
	// Interpolation is Chromatic with nothing rounded: what the number of nodes
	// costs by itself.
	Interpolation Figures `json:"interpolation"`
	// Raised is the number of values along the greys that were raised so that no
	// grey falls.
	Raised int `json:"raised"`
	// Warnings are whole sentences for a report.
	Warnings []string `json:"warnings,omitempty"`
}

// Figures are differences in ΔE00; all are 0 where Count is.
type Figures struct {
	Count int     `json:"count"`
	Mean  float64 `json:"mean"`
	P95   float64 `json:"p95"`
	Max   float64 `json:"max"`
}

// figures sums differences up, which it sorts.
func figures(all []float64) Figures {
	if len(all) == 0 {
		return Figures{}
	}
	slices.Sort(all)
	f := Figures{Count: len(all), P95: all[(len(all)*95+99)/100-1], Max: all[len(all)-1]}
	for _, e := range all {
		f.Mean += e / float64(len(all))
	}
	return f
}

// probe is a source signal by which tables are judged.
type probe struct {
	signal  colorimetry.RGB
	wanted  colorimetry.XYZ
	grey    bool
	inReach bool
}

// probe returns the signals by which tables are judged: a lattice that meets few
// nodes, greys, and signals from a fixed seed, a third of them dark. They fall
// on the codes of the path.
func (b *builder) probe(ctx context.Context) ([]probe, error) {
	var list []probe
	add := func(s colorimetry.RGB) {
		s = b.options.In.round(s, b.options.PathBits)
		list = append(list, probe{signal: s, wanted: b.target.wanted(s), grey: s.R == s.G && s.G == s.B})
	}
	for i := range 343 {
		add(colorimetry.RGB{R: float64(i/49) / 6, G: float64(i/7%7) / 6, B: float64(i%7) / 6})
	}
	for i := range 128 {
		add(colorimetry.Gray(float64(i) / 127))
	}
	rng := rand.New(rand.NewPCG(1, 1))
	for i := range 600 {
		k := 1.0
		if i%3 == 0 {
			k = 0.25
		}
		add(colorimetry.RGB{R: k * rng.Float64(), G: k * rng.Float64(), B: k * rng.Float64()})
	}
	err := b.rows(ctx, len(list), func(i int) { list[i].inReach = b.reaches(list[i].wanted) })
	return list, err
}

// reaches reports whether the model shows a colour.
func (b *builder) reaches(c colorimetry.XYZ) bool {
	s := search{display: b.display}
	v, ok := s.find(b.display.levels(c))
	return ok && within(v, touching)
}

// delta is the difference between two colours under the wanted white.
func (t *target) delta(a, b colorimetry.XYZ) float64 {
	return difference.CIEDE2000(a.Lab(t.white), b.Lab(t.white))
}

// loss judges a draft, with nothing rounded.
func (b *builder) loss(d draft, probes []probe) (colours, greys Figures) {
	var all, neutral []float64
	for _, p := range probes {
		if !p.inReach {
			continue
		}
		e := b.target.delta(p.wanted, b.display.model.XYZ(d.Apply(p.signal)))
		if p.grey {
			neutral = append(neutral, e)
		} else {
			all = append(all, e)
		}
	}
	return figures(all), figures(neutral)
}

// diagnose judges a finished table, of which the loss between nodes and the number
// of values that were raised are known.
func (b *builder) diagnose(t Table, probes []probe, loss Figures, raised int) Diagnostics {
	d := Diagnostics{
		Nodes: t.Nodes(), Bits: t.Bits(), White: b.target.white, Black: b.target.black,
		Reachable: b.target.most, FloorSignal: b.target.floor(),
		Interpolation: loss, Raised: raised,
	}
	var in, greys, out, turns []float64
	for _, p := range probes {
		shown := b.display.model.XYZ(t.Through(p.signal))
		e := b.target.delta(p.wanted, shown)
		switch {
		case !p.inReach:
			out = append(out, e)
			if a, ok := b.turn(p.wanted, shown); ok {
				turns = append(turns, a)
			}
		case p.grey:
			greys = append(greys, e)
		default:
			in = append(in, e)
		}
	}
	d.Chromatic, d.Greys, d.Beyond, d.HueTurn = figures(in), figures(greys), figures(out), figures(turns).Mean
	d.warn(b)
	return d
}

// turn returns the angle between the hues of two colours in Oklab, in degrees;
// next to the greys hue means nothing.
func (b *builder) turn(wanted, shown colorimetry.XYZ) (float64, bool) {
	p, ok := b.surface.Space.Coordinates(wanted)
	q, also := b.surface.Space.Coordinates(shown)
	if !ok || !also || math.Hypot(p.A, p.B) < gamutmap.Grey || math.Hypot(q.A, q.B) < gamutmap.Grey/2 {
		return 0, false
	}
	return math.Abs(math.Atan2(p.A*q.B-p.B*q.A, p.A*q.A+p.B*q.B)) * 180 / math.Pi, true
}

func (d *Diagnostics) warn(b *builder) {
	if b.target.lowered {
		d.Warnings = append(d.Warnings, fmt.Sprintf("The display has %.2f cd/m² at this white, so that this is the luminance of the table in place of %.2f.", b.target.most, b.want.Aim.Luminance))
	}
	if n := d.Chromatic.Count + d.Beyond.Count; d.Beyond.Count > 0 {
		d.Warnings = append(d.Warnings, fmt.Sprintf("%d of %d colours of the source are beyond what the display can show; they come as near as it can, %.1f ΔE00 off in the mean.", d.Beyond.Count, n, d.Beyond.Mean))
	}
	d.Warnings = append(d.Warnings, b.want.Aim.Cautions()...)
	if d.Raised > 0 {
		d.Warnings = append(d.Warnings, fmt.Sprintf("%d values of greys were raised so that no grey is darker than the one before it; the model may be wrong there.", d.Raised))
	}
}
