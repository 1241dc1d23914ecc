package transform

// exact computes pixels one by one in float64.
type exact struct {
	t        *Transform
	in, out  place
	from, to []unit
	dstTop   float64 // of opacity
	srcTop   float64
	// premultiplied pixels
	divide, multiply bool
}

func (k *Kernel) exact() *exact {
	return &exact{
		t: k.t, in: k.in, out: k.out,
		from: k.from.units(k.t.From(), k.in.channels), to: k.to.units(k.t.To(), k.out.channels),
		srcTop: k.from.Depth.top(), dstTop: k.to.Depth.top(),
		divide: k.from.Premultiplied, multiply: k.to.Premultiplied,
	}
}

// exactRow returns the row function of two kinds of samples.
func exactRow[D, S Sample](e *exact) func(dst []D, src []S, n int) {
	return func(dst []D, src []S, n int) {
		var v [maxChannels]float64
		for i := range n {
			s, d := src[i*e.in.step:(i+1)*e.in.step], dst[i*e.out.step:(i+1)*e.out.step]
			alpha := 1.0
			if e.in.alpha >= 0 {
				alpha = float64(s[e.in.alpha]) / e.srcTop
			}
			for c, u := range e.from {
				v[c] = float64(s[e.in.at[c]])
				if e.divide {
					v[c] = straight(v[c], alpha)
				}
				v[c] = v[c]*u.scale + u.offset
			}
			e.t.chain.Eval(v[:], v[:])
			for c, u := range e.to {
				if e.multiply {
					v[c] *= alpha
				}
				d[e.out.at[c]] = round[D]((v[c] - u.offset) / u.scale)
			}
			if e.out.alpha >= 0 {
				d[e.out.alpha] = round[D](alpha * e.dstTop)
			}
		}
	}
}

// straight takes the opacity out of a channel: where there is none, there is no
// colour either.
func straight(v, alpha float64) float64 {
	if !(alpha > 0) {
		return 0
	}
	return v / alpha
}
