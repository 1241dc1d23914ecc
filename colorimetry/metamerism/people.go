package metamerism

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"sync"

	"example.org/primaries/colorimetry/spectrum"
)

func categories(file, year string) func() []Physiology {
	return sync.OnceValue(func() []Physiology {
		var out []Physiology
		for _, r := range table(file) {
			out = append(out, Physiology{
				Name:  fmt.Sprintf("category %g of %s", r[0], year),
				Years: r[1], Lens: r[2], Macula: r[3], L: r[4], M: r[5], S: r[6],
				ShiftL: r[7], ShiftM: r[8], ShiftS: r[9],
			})
		}
		return out
	})
}

var (
	categories2016 = categories("categories2016.csv", "2016")
	categories2020 = categories("categories2020.csv", "2020")
)

// Categories returns ten observers that stand for the ways in which people
// differ, the most typical first, for a field of 2°; set FieldDegrees for
// another. Each call returns a new slice.
//
// Source: Asano and Fairchild, Color Res. Appl. 45(4) 576-585 (2020),
// doi:10.1002/col.22493.
func Categories() []Physiology { return append([]Physiology(nil), categories2020()...) }

// Categories2016 returns the ten observers of an earlier analysis. One copy of
// their figures was seen.
//
// Source: Asano, Fairchild and Blondé, PLoS ONE 11(2) e0145671 (2016), in the
// functions released beside the paper.
func Categories2016() []Physiology { return append([]Physiology(nil), categories2016()...) }

// spreads are the standard deviations of people with normal colour vision, as
// past studies gave them and as scaled to colour matches.
//
// Source: Asano, Fairchild and Blondé, PLoS ONE 11(2) e0145671 (2016).
var spreads = sync.OnceValue(func() [2]Physiology {
	var out [2]Physiology
	for i, r := range table("spread.csv") {
		out[i] = Physiology{
			Lens: r[1], Macula: r[2], L: r[3], M: r[4], S: r[5],
			ShiftL: r[6], ShiftM: r[7], ShiftS: r[8],
		}
	}
	return out
})

const (
	youngest, oldest = 20, 70
	// mostPeople bounds memory: an observer takes about 20 kB.
	mostPeople = 10_000
	// What is drawn beyond these is set to them: no density is below 0. Only
	// the macula's is drawn that far, for one person in 300.
	leastLayer, leastPigment, mostDensity, mostShift = -100, -99, 300, 20
)

// PopulationOptions say whom [Population] draws. The zero value is the default.
type PopulationOptions struct {
	Seed         uint64
	FieldDegrees float64 // 0 stands for 2
	// FromYears and ToYears bound the ages, all of which are equally likely; 0
	// and 0 stand for 20 and 70, a choice of this package.
	FromYears, ToYears float64
	// Unscaled takes the spread that studies of each quantity by itself gave.
	// The paper found it too wide to explain colour matches.
	Unscaled bool
}

// Population returns n people drawn at random: ages as the options say, the
// rest normally distributed about the average with the published spread. The
// same options give the same people, and a larger n the same ones first.
// It is an error if n is not in 1 to 10,000, if the ages are not within 10 to
// 80 years or if the field is not within 1° to 10°.
//
// Source: Asano, Fairchild and Blondé, PLoS ONE 11(2) e0145671 (2016).
func Population(n int, o PopulationOptions) ([]Physiology, error) {
	if n < 1 || n > mostPeople {
		return nil, fmt.Errorf("metamerism: %d people; 1 to %d are possible", n, mostPeople)
	}
	if o.FromYears == 0 && o.ToYears == 0 {
		o.FromYears, o.ToYears = youngest, oldest
	}
	if !(o.FromYears >= 10 && o.FromYears <= o.ToYears && o.ToYears <= 80) {
		return nil, fmt.Errorf("metamerism: people of %g to %g years; give both ends, 10 to 80", o.FromYears, o.ToYears)
	}
	r := rand.New(rand.NewPCG(o.Seed, 0x6f6273657276)) // a stream of its own
	draw := func(sd, least, most float64) float64 {
		return math.Min(most, math.Max(least, sd*r.NormFloat64()))
	}
	sd := spreads()[1]
	if o.Unscaled {
		sd = spreads()[0]
	}
	out := make([]Physiology, n)
	for i := range out {
		out[i] = Physiology{
			Name:         fmt.Sprintf("person %d", i+1),
			FieldDegrees: o.FieldDegrees,
			Years:        o.FromYears + (o.ToYears-o.FromYears)*r.Float64(),
			Lens:         draw(sd.Lens, leastLayer, mostDensity),
			Macula:       draw(sd.Macula, leastLayer, mostDensity),
			L:            draw(sd.L, leastPigment, mostDensity),
			M:            draw(sd.M, leastPigment, mostDensity),
			S:            draw(sd.S, leastPigment, mostDensity),
			ShiftL:       draw(sd.ShiftL, -mostShift, mostShift),
			ShiftM:       draw(sd.ShiftM, -mostShift, mostShift),
			ShiftS:       draw(sd.ShiftS, -mostShift, mostShift),
		}
		if _, err := out[i].filled(); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// Observers returns the observers with these eyes. The error names the one
// that is impossible.
func Observers(people []Physiology) ([]spectrum.Observer, error) {
	out := make([]spectrum.Observer, len(people))
	for i, p := range people {
		var err error
		if out[i], err = p.Observer(); err != nil {
			return nil, fmt.Errorf("metamerism: observer %d: %s", i+1, strings.TrimPrefix(err.Error(), "metamerism: "))
		}
	}
	return out, nil
}

// deviate is the standard deviate observer.
var deviate = sync.OnceValue(func() spectrum.Observer {
	o := spectrum.CIE1931()
	rows := table("deviate.csv")
	var out [3]spectrum.Spectrum
	for k, standard := range []spectrum.Spectrum{o.XBar, o.YBar, o.ZBar} {
		var nm, value []float64
		for _, r := range rows {
			nm, value = append(nm, r[0]), append(value, r[k+1])
		}
		s, err := spectrum.New(nm, value)
		if err == nil {
			// The sum has the wavelengths of both: 1 nm, and falls to the
			// standard function outside the table.
			s, err = s.Resample(spectrum.Resampling{Between: spectrum.Lagrange})
		}
		if err != nil {
			panic(err) // the table is part of the program
		}
		out[k] = standard.Add(s)
	}
	return spectrum.Observer{Name: "CIE standard deviate", XBar: out[0], YBar: out[1], ZBar: out[2]}
})

// StandardDeviate returns the observer that differs from CIE 1931 as people
// usually differ from each other, 360 to 830 nm at 1 nm: the difference that it
// sees between two lights that CIE 1931 calls equal is an index of how much
// they are metameric. It is reported to understate how much people differ
// (Sarkar et al., below); one copy of its figures was seen. [Categories] rest
// on more.
//
// Source: CIE 80-1989, first deviation functions; Sarkar, Blondé, Le Callet,
// Autrusseau, Morvan and Stauder, on observer categories, for the report.
func StandardDeviate() spectrum.Observer { return deviate() }
