package characterise

import (
	"fmt"
	"math"
	"slices"
	"strconv"

	"example.org/primaries/chart"
	"example.org/primaries/chart/measure"
	"example.org/primaries/colorimetry"
)

// noiseColumns are the columns by which a table of readings states its noise: how
// many integrations a reading is the mean of, and the covariance of that mean in
// (cd/m²)².
var noiseColumns = [7]string{"AVERAGES", "COV_XX", "COV_YY", "COV_ZZ", "COV_XY", "COV_XZ", "COV_YZ"}

// covered are the places of the covariance in the order of the columns.
var covered = [6][2]int{{0, 0}, {1, 1}, {2, 2}, {0, 1}, {0, 2}, {1, 2}}

// Bounds of what a table may state.
const (
	mostAverages   = 1000    // of a reading, as a session has them
	mostIntegrated = 1 << 20 // of a whole table: 3,000 readings of 300 each
	mostVariance   = 1e12    // (cd/m²)²: far beyond any display
)

// noiseOf returns what the noise columns say of a reading.
func noiseOf(m measure.Reading) []string {
	out := []string{strconv.Itoa(max(len(m.Repeats), 1))}
	for _, at := range covered {
		out = append(out, strconv.FormatFloat(m.Covariance[at[0]][at[1]], 'g', 9, 64))
	}
	return out
}

// rowNoise is what a row states of its noise.
type rowNoise struct {
	averages   int
	covariance colorimetry.Matrix
}

// takeNoise gives readings, made of t, the noise that the table states; ok is
// false where it states none. Of several rows of one signal the mean's covariance
// is taken, enlarged where they scatter by more than they state. The error is a *[chart.InputError] that names the line.
func takeNoise(readings []measure.Reading, t chart.Table, name string) (ok bool, err error) {
	var at [7]int
	for i, column := range noiseColumns {
		if at[i] = slices.Index(t.Extra, column); at[i] < 0 {
			return false, nil
		}
	}
	rows := map[colorimetry.RGB][]int{}
	noise := make([]rowNoise, len(t.Rows))
	total := 0
	for i, r := range t.Rows {
		var fields [7]string
		for k, column := range at {
			fields[k] = r.Extra[column]
		}
		var problem string
		if noise[i], problem = readNoise(fields); problem == "" {
			if total += noise[i].averages; total > mostIntegrated {
				problem = fmt.Sprintf("the table's readings are means of more than %d integrations together", mostIntegrated)
			}
		}
		if problem != "" {
			return false, &chart.InputError{File: name, Line: r.Line, Problem: problem, Remedy: "mend the row, or leave the columns " + noiseColumns[0] + " and COV_… out"}
		}
		rows[r.Signal] = append(rows[r.Signal], i)
	}
	scale := scaleOf(t)
	for i := range readings {
		r := &readings[i]
		of := rows[r.Patch.Signal]
		r.Repeats = nil
		var sum colorimetry.Matrix
		scatter := 0.0
		for _, k := range of {
			n, xyz := noise[k], t.Rows[k].XYZ.Scale(scale)
			n.covariance = n.covariance.Scale(scale * scale)
			r.Repeats = append(r.Repeats, slices.Repeat([]colorimetry.XYZ{xyz}, n.averages)...)
			sum = sum.Add(n.covariance)
			scatter += (xyz.Y - r.XYZ.Y) * (xyz.Y - r.XYZ.Y) / n.covariance[1][1]
		}
		count := float64(len(of))
		r.Covariance = sum.Scale(1 / (count * count))
		if len(of) > 1 {
			r.Covariance = r.Covariance.Scale(math.Max(1, scatter/(count-1)))
		}
	}
	return true, nil
}

// scaleOf returns what a table's rows were multiplied by to become readings: a
// relative one has a white of 100.
func scaleOf(t chart.Table) float64 {
	if t.Scale != chart.ScaleRelative {
		return 1
	}
	var sum, count float64
	for _, r := range t.Rows {
		if r.Signal == white {
			sum, count = sum+r.XYZ.Y, count+1
		}
	}
	return 100 * count / sum
}

// readNoise reads the noise columns of a row, or says what is wrong with them.
func readNoise(fields [7]string) (n rowNoise, problem string) {
	var err error
	if n.averages, err = strconv.Atoi(fields[0]); err != nil || n.averages < 1 || n.averages > mostAverages {
		return n, fmt.Sprintf("%s is %.20q; 1 to %d are possible", noiseColumns[0], fields[0], mostAverages)
	}
	for i, at := range covered {
		v, err := strconv.ParseFloat(fields[1+i], 64)
		if err != nil || !(math.Abs(v) <= mostVariance) || i < 3 && !(v > 0) {
			return n, fmt.Sprintf("%s is %.20q; variances are above 0, and all are numbers within ±%g", noiseColumns[1+i], fields[1+i], mostVariance)
		}
		n.covariance[at[0]][at[1]], n.covariance[at[1]][at[0]] = v, v
	}
	// All principal minors are at least 0, up to the digits that are written.
	const digits = 1e-6
	c := n.covariance
	for _, at := range covered[3:] {
		if a, b, v := c[at[0]][at[0]], c[at[1]][at[1]], c[at[0]][at[1]]; math.Abs(v) > math.Sqrt(a)*math.Sqrt(b)*(1+digits) {
			return n, "its COV_… are no covariance: one between two components is larger than their own allow"
		}
	}
	x, y, z := math.Sqrt(c[0][0]), math.Sqrt(c[1][1]), math.Sqrt(c[2][2])
	p, q, r := c[0][1]/(x*y), c[0][2]/(x*z), c[1][2]/(y*z)
	if 1+2*p*q*r-p*p-q*q-r*r < -digits {
		return n, "its COV_… are no covariance: a combination of X, Y and Z has a variance below 0"
	}
	return n, ""
}
