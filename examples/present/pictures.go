package main

import (
	"context"
	"fmt"

	"example.org/primaries/chart/plug"
	"example.org/primaries/colorimetry"
)

// scene is one thing to show.
type scene struct {
	name string
	show func(context.Context, *plug.Browser) error
}

// pictures returns those that are looked at.
func pictures(which string) []scene {
	var out []scene
	add := func(kind, name string, fields []plug.Field) {
		if which == kind || which == "all" {
			out = append(out, scene{name, func(ctx context.Context, b *plug.Browser) error { return b.ShowFields(ctx, fields) }})
		}
	}
	add("ramp", "grey ramp: every code above, 33 steps below; look for bands, tints and jumps", ramp())
	add("near-black", "steps near black: the codes 1 to 24 on black; count from which on they show", nearBlack())
	for _, code := range []float64{255, 128, 64, 26} {
		add("uniformity", fmt.Sprintf("even field, code %.0f: look for blotches, tints and darker edges", code),
			[]plug.Field{{W: 1, H: 1, Signal: colorimetry.Gray(code / 255)}})
	}
	return out
}

// ramp has all 256 greys in the upper half and 33 steps in the lower.
func ramp() []plug.Field {
	out := []plug.Field{{W: 1, H: 1}}
	for _, half := range []struct {
		top   float64
		steps int
	}{{0, 256}, {0.5, 33}} {
		for i := range half.steps {
			out = append(out, plug.Field{
				X: float64(i) / float64(half.steps), Y: half.top, W: 1 / float64(half.steps), H: 0.5,
				Signal: colorimetry.Gray(float64(i) / float64(half.steps-1)),
			})
		}
	}
	return out
}

// nearBlack has the codes 1 to 24 as squares on black, with their numbers.
func nearBlack() []plug.Field {
	const columns, rows = 8, 3
	out := []plug.Field{{W: 1, H: 1}}
	for i := range columns * rows {
		x, y := float64(i%columns), float64(i/columns)
		out = append(out, plug.Field{
			X: (x + 0.1) / columns, Y: (y + 0.12) / rows, W: 0.8 / columns, H: 0.76 / rows,
			Signal: colorimetry.Gray(float64(i+1) / 255), Label: fmt.Sprint(i + 1),
		})
	}
	return out
}
