package chart

import (
	"bufio"
	"math"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// rowsOf returns the rows of a CSV file of testdata without comment and header.
func rowsOf(t *testing.T, name string) [][]string {
	t.Helper()
	f, err := os.Open("testdata/" + name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	var rows [][]string
	for s := bufio.NewScanner(f); s.Scan(); {
		if !strings.HasPrefix(s.Text(), "#") {
			rows = append(rows, strings.Split(s.Text(), ","))
		}
	}
	return rows[1:]
}

func figure(t *testing.T, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

func cubeOf(name string, seed uint64) func(int) [3]float64 {
	if name == "sobol" {
		return sobolCube(seed)
	}
	return haltonCube(seed)
}

func firstPoints(name string, seed uint64, n int) [][3]float64 {
	cube := cubeOf(name, seed)
	points := make([][3]float64, n)
	for i := range points {
		points[i] = cube(i)
	}
	return points
}

// TestSequencesAgainstSciPy holds the unscrambled points against SciPy's.
func TestSequencesAgainstSciPy(t *testing.T) {
	for _, row := range rowsOf(t, "sequence_points.csv") {
		got := cubeOf(row[0], 0)(int(figure(t, row[1])))
		for c, v := range got {
			if want := figure(t, row[2+c]); math.Abs(v-want) > 1e-15 {
				t.Errorf("%s, point %s, dimension %d: %.17g, SciPy has %.17g", row[0], row[1], c+1, v, want)
			}
		}
	}
}

// centred returns the squared centred L2 discrepancy, by the closed formula of
// Hickernell, Math. Comput. 67, 299-322 (1998), doi:10.1090/S0025-5718-98-00894-1.
func centred[P ~[]float64](points []P) float64 {
	n, dims := float64(len(points)), len(points[0])
	one, two := 0.0, 0.0
	for _, p := range points {
		f := 1.0
		for _, v := range p {
			a := math.Abs(v - 0.5)
			f *= 1 + a/2 - a*a/2
		}
		one += f
		for _, q := range points {
			f := 1.0
			for c, v := range p {
				f *= 1 + math.Abs(v-0.5)/2 + math.Abs(q[c]-0.5)/2 - math.Abs(v-q[c])/2
			}
			two += f
		}
	}
	return math.Pow(13.0/12, float64(dims)) - 2/n*one + two/(n*n)
}

// starL2 returns the L2 star discrepancy, by the closed formula of Warnock,
// in Applications of Number Theory to Numerical Analysis, 319-343 (1972).
func starL2(points [][3]float64) float64 {
	n := float64(len(points))
	one, two := 0.0, 0.0
	for _, p := range points {
		f := 1.0
		for _, v := range p {
			f *= (1 - v*v) / 2
		}
		one += f
		for _, q := range points {
			f := 1.0
			for c, v := range p {
				f *= 1 - max(v, q[c])
			}
			two += f
		}
	}
	return math.Sqrt(1.0/27 - 2/n*one + two/(n*n))
}

// star returns the star discrepancy, by its definition: the largest difference
// between the share of points in a box from the origin and the box's volume.
// Boxes that end at coordinates of points are all that count.
func star(points [][3]float64) float64 {
	var axes [3][]float64
	for c := range axes {
		for _, p := range points {
			axes[c] = append(axes[c], p[c])
		}
		axes[c] = append(axes[c], 1)
	}
	worst := 0.0
	for _, x := range axes[0] {
		for _, y := range axes[1] {
			for _, z := range axes[2] {
				inside, upTo := 0, 0
				for _, p := range points {
					if p[0] < x && p[1] < y && p[2] < z {
						inside++
					}
					if p[0] <= x && p[1] <= y && p[2] <= z {
						upTo++
					}
				}
				n, v := float64(len(points)), x*y*z
				worst = max(worst, v-float64(inside)/n, float64(upTo)/n-v)
			}
		}
	}
	return worst
}

func slicesOf(points [][3]float64) [][]float64 {
	out := make([][]float64, len(points))
	for i := range points {
		out[i] = points[i][:]
	}
	return out
}

// TestDiscrepancyFormulas holds the three formulas, and through them the sets,
// against figures from outside.
func TestDiscrepancyFormulas(t *testing.T) {
	// Fang, Li, Sudjianto, Design and Modeling for Computer Experiments (2006),
	// as SciPy's documentation quotes it: two designs of six runs, 0.0081 and
	// 0.0105.
	for _, design := range []struct {
		second  [6]float64
		printed float64
	}{{[6]float64{3, 6, 2, 5, 1, 4}, 0.0081}, {[6]float64{5, 4, 3, 2, 1, 6}, 0.0105}} {
		var points [][]float64
		for i, v := range design.second {
			points = append(points, []float64{(2*float64(i+1) - 1) / 12, (2*v - 1) / 12})
		}
		if got := centred(points); math.Abs(got-design.printed) > 5e-5 {
			t.Errorf("centred discrepancy %.6f, printed %.4f", got, design.printed)
		}
	}
	for _, row := range rowsOf(t, "sequence_discrepancy.csv") {
		points := firstPoints(row[0], 0, int(figure(t, row[1])))
		if got, want := centred(slicesOf(points)), figure(t, row[2]); math.Abs(got-want) > 1e-10 {
			t.Errorf("%s of %s points: centred discrepancy %.12g, SciPy has %.12g", row[0], row[1], got, want)
		}
		if got, want := starL2(points), figure(t, row[3]); math.Abs(got-want) > 1e-8 {
			t.Errorf("%s of %s points: L2 star discrepancy %.12g, SciPy has %.12g", row[0], row[1], got, want)
		}
		if row[4] == "" {
			continue // the definition takes too long
		}
		if got, want := star(points), figure(t, row[4]); math.Abs(got-want) > 1e-10 {
			t.Errorf("%s of %s points: star discrepancy %.12g, by definition in Python %.12g", row[0], row[1], got, want)
		}
	}
}

// TestScramblingKeepsEvenness holds scrambled sequences of 20 seeds against the
// published ones and against points by lot, whose expected squared centred
// discrepancy in three dimensions is ((5/4)³ − (13/12)³)/n (Fang, Li, Sudjianto,
// Design and Modeling for Computer Experiments (2006), chapter 3; from memory,
// and checked here).
func TestScramblingKeepsEvenness(t *testing.T) {
	const n = 256
	lot := (math.Pow(1.25, 3) - math.Pow(13.0/12, 3)) / n
	var median = map[string]float64{}
	for _, name := range []string{"halton", "sobol"} {
		var figures []float64
		for seed := range uint64(20) {
			figures = append(figures, centred(slicesOf(firstPoints(name, seed+1, n))))
		}
		slices.Sort(figures)
		median[name] = figures[10]
		plain := centred(slicesOf(firstPoints(name, 0, n)))
		t.Logf("%s: centred discrepancy² %.3g plain; scrambled median %.3g, worst %.3g; by lot %.3g", name, plain, figures[10], figures[19], lot)
		if figures[19] > lot/10 || figures[10] > plain {
			t.Errorf("%s: scrambled sequences have centred discrepancies² up to %g, the plain one %g, points by lot %g", name, figures[19], plain, lot)
		}
	}
	if median["sobol"] > median["halton"] {
		t.Errorf("Sobol' points are less even than Halton's: %v", median)
	}
	var random []float64
	for seed := range uint64(20) {
		x := mix(seed)
		points := make([][]float64, n)
		for i := range points {
			for range 3 {
				x = mix(x)
				points[i] = append(points[i], float64(x>>11)/(1<<53))
			}
		}
		random = append(random, centred(points))
	}
	slices.Sort(random)
	if random[10] < lot/1.5 || random[10] > lot*1.5 {
		t.Errorf("points by lot have a median of %g, theory says %g", random[10], lot)
	}
}

// TestNestedScrambling holds scrambled Sobol' points against what nested
// scrambling promises (Owen 1995): every interval of length 2^−k that holds one
// point before holds one after, in each dimension, and points are uniform.
func TestNestedScrambling(t *testing.T) {
	const n = 512
	for seed := range uint64(10) {
		points := firstPoints("sobol", seed+1, n)
		for c := range 3 {
			var seen [n]bool
			for _, p := range points {
				if p[c] < 0 || p[c] >= 1 || seen[int(p[c]*n)] {
					t.Fatalf("seed %d, dimension %d: %g has an interval to share", seed+1, c+1, p[c])
				}
				seen[int(p[c]*n)] = true
			}
		}
	}
	// The first point alone is uniform over seeds: mean 1/2, variance 1/12.
	var sum, square [3]float64
	const seeds = 4000
	for seed := range uint64(seeds) {
		for c, v := range sobolCube(seed + 1)(0) {
			sum[c] += v
			square[c] += (v - 0.5) * (v - 0.5)
		}
	}
	for c := range sum {
		// Five standard errors: sqrt(1/12/4000) = 0.0046, sqrt(1/180/4000) = 0.0012.
		if math.Abs(sum[c]/seeds-0.5) > 0.023 || math.Abs(square[c]/seeds-1.0/12) > 0.006 {
			t.Errorf("dimension %d: mean %g and variance %g over seeds", c+1, sum[c]/seeds, square[c]/seeds)
		}
	}
}

// TestEveryPlaceIsFinite looks at the whole signal cube, faces and corners
// included, in both spaces: newPlacer's promise that no mixture of the nominal
// primaries is without an appearance.
func TestEveryPlaceIsFinite(t *testing.T) {
	for _, in := range []Space{CIELAB, CAM16UCS} {
		place := newPlacer(in)
		for _, p := range Lattice(21) {
			at := place.at(p.Signal)
			if math.IsNaN(at.x+at.y+at.z) || p.Signal.Max() > 0 && at == (point{}) {
				t.Errorf("%v has no place in %v", p.Signal, in)
			}
		}
	}
}
