package simulate

import "math"

// Tables of tone are often filled by straight lines between few measured
// levels. A smooth curve belongs through the measured levels, not through
// every row, which would keep the corners of the filling.
const (
	// sameSlope is how much the rise from row to row may vary on a straight
	// line, as a share of full light. Tables printed with fewer than six
	// decimals vary more and are taken row by row.
	sameSlope = 1e-6
	// fitsRows is how close to every row the straight lines between the
	// levels found must come, as a share of full light.
	fitsRows = 5e-6
	// rowsPerKnot is how many times fewer the levels must be than the rows: a
	// table whose rows were measured one by one has about as many.
	rowsPerKnot = 4
)

// measuredLevels finds the levels between which the table (x, y) runs straight
// and returns them with their light, ok. A measured level may lie between two
// rows: it is then where the straight lines of both sides meet. Where the
// table was not filled by straight lines, ok is false.
func measuredLevels(x, y []float64) (kx, ky []float64, ok bool) {
	rise := func(i int) float64 { return (y[i+1] - y[i]) / (x[i+1] - x[i]) }
	step := (x[len(x)-1] - x[0]) / float64(len(x)-1)

	// starts are the rows at which a stretch of equal rise begins.
	starts := []int{0}
	for i := 1; i < len(x)-1; i++ {
		if math.Abs(rise(i)-rise(starts[len(starts)-1]))*step > sameSlope {
			starts = append(starts, i)
		}
	}
	starts = append(starts, len(x)-1)

	kx, ky = []float64{x[0]}, []float64{y[0]}
	for j := 1; j < len(starts)-1; j++ {
		i := starts[j]
		if starts[j+1] == i+1 && j+2 < len(starts) {
			// One step of its own rise between two straight stretches.
			if mx, my, meets := meet(x, y, starts[j-1], i, i+1, starts[j+2]); meets {
				kx, ky = append(kx, mx), append(ky, my)
				j++
				continue
			}
		}
		kx, ky = append(kx, x[i]), append(ky, y[i])
	}
	kx, ky = append(kx, x[len(x)-1]), append(ky, y[len(y)-1])
	if len(kx)*rowsPerKnot > len(x) || !follows(x, y, kx, ky) {
		return nil, nil, false
	}
	return kx, ky, true
}

// meet returns where the line through rows a and b and the line through rows c
// and d meet, if that is strictly between rows b and c = b+1 and both lines
// are longer than one step.
func meet(x, y []float64, a, b, c, d int) (mx, my float64, ok bool) {
	if b-a < 2 || d-c < 2 {
		return 0, 0, false
	}
	left := (y[b] - y[a]) / (x[b] - x[a])
	right := (y[d] - y[c]) / (x[d] - x[c])
	mx = (y[c] - y[b] + left*x[b] - right*x[c]) / (left - right)
	if !(mx > x[b] && mx < x[c]) {
		return 0, 0, false
	}
	return mx, y[b] + left*(mx-x[b]), true
}

// follows reports whether the straight lines between the levels (kx, ky) pass
// every row.
func follows(x, y, kx, ky []float64) bool {
	k := 0
	for i, v := range x {
		for k < len(kx)-2 && v > kx[k+1] {
			k++
		}
		t := (v - kx[k]) / (kx[k+1] - kx[k])
		if math.Abs(ky[k]+t*(ky[k+1]-ky[k])-y[i]) > fitsRows {
			return false
		}
	}
	return true
}
