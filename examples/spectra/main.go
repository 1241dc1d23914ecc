// Command spectra tells what lights and surfaces look like: one row a spectrum
// of a CSV file, with its tristimulus values, chromaticity, temperature,
// rendering indices, dominant wavelength and purity.
package main

import (
	"context"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/rendering"
	"example.org/primaries/colorimetry/spectrum"
	"example.org/primaries/examples/internal/cli"
)

const synopsis = `spectra [options] FILE.csv

spectra prints one row a spectrum of FILE as CSV. The file's first column is
wavelength_nm, every other column a spectrum with its name in the header row;
the file - is standard input.

Without -illuminant the spectra are lights: X, Y and Z are in cd/m² where the
file is in W/(sr·m²·nm). With it they are reflectances, 0 to 1, and the perfect
diffuser has Y = 1. x, y and u, v (CIE 1976 u', v') are those of the observer;
cct (kelvin) and duv are those of the 1931 observer whoever looks, and are kept
for lights so far from the locus that they mean little. ra, r9 and rf are for
lights alone. dominant_nm is negative where only a complementary wavelength
exists; it and the excitation purity are seen from equal energy, or from the
illuminant. What a spectrum does not have is left empty, and standard error says
why. Sums are taken at the table's own step where that is 1 to 5 nm, else at 1 nm
along straight lines.

Exit status: 0 done, 2 bad input or use, 4 output failed, 130 interrupted.`

func main() { cli.Program{Name: "spectra", Run: run}.Main() }

func run(_ context.Context, args []string, std cli.IO) error {
	var observer, illuminant string
	f := cli.NewFlags("spectra", synopsis, std)
	f.StringVar(&illuminant, "illuminant", "", "`name` of the CIE illuminant that the file's reflectances are seen under: "+strings.Join(spectrum.IlluminantNames(), " "))
	f.Choice(&observer, "observer", "1931", "who looks", "1931", "1964", "2015-2", "2015-10")
	files, err := f.ParseFiles(args, 1, "one table, FILE.csv,")
	if err != nil {
		return err
	}
	o, err := spectrum.ObserverNamed(observer)
	if err != nil {
		return cli.Give(cli.BadInput, err)
	}
	var names []string
	var spectra []spectrum.Spectrum
	in := cli.Inputs{In: std.In}
	if err := in.Read(files[0], func(r io.Reader) (err error) { names, spectra, err = spectrum.ReadCSV(r); return err }); err != nil {
		return err
	}
	var lamp *spectrum.Spectrum
	if illuminant != "" {
		s, err := spectrum.Illuminant(illuminant)
		if err != nil {
			return cli.Bad("-illuminant: %w", err)
		}
		lamp = &s
	}
	out := csv.NewWriter(std.Out)
	out.Write(strings.Split("name,X,Y,Z,x,y,u,v,cct,duv,ra,r9,rf,dominant_nm,purity", ","))
	for i, s := range spectra {
		r, notes := describe(o, s, lamp)
		for _, n := range notes {
			fmt.Fprintf(std.Err, "%s: %s\n", names[i], n)
		}
		out.Write(append([]string{names[i]}, r...))
	}
	out.Flush()
	return cli.Give(cli.RunFailure, out.Error())
}

// describe returns the figures of one spectrum, as many as it has, and what
// keeps it from the others.
func describe(o spectrum.Observer, s spectrum.Spectrum, lamp *spectrum.Spectrum) (row, notes []string) {
	nan := math.NaN()
	v := [14]float64{}
	for i := range v {
		v[i] = nan
	}
	note := func(err error) bool {
		if err != nil {
			notes = append(notes, err.Error())
		}
		return err == nil
	}
	if dark := darkness(s, lamp != nil); dark != "" {
		notes = append(notes, dark)
	}
	c, white, err := look(o, s, lamp)
	if note(err) {
		v[0], v[1], v[2] = c.X, c.Y, c.Z
	}
	if err == nil && c.Y > 0 {
		xy, uv := c.Chromaticity(), c.UV()
		v[3], v[4], v[5], v[6] = xy.X, xy.Y, uv.U, uv.V
		if d, err := o.Dominant(xy, white); note(err) {
			v[12], v[13] = d.WavelengthNM, d.ExcitationPurity
			if d.Complementary {
				v[12] = -v[12]
			}
		}
	}
	white1931 := false
	if std, _, err := look(spectrum.CIE1931(), s, lamp); err == nil && std.Y > 0 {
		kelvin, duv, err := spectrum.CCT(std.Chromaticity())
		white1931 = note(err)
		if white1931 || errors.Is(err, spectrum.ErrFarFromLocus) {
			v[7], v[8] = kelvin, duv
		}
	}
	if lamp == nil && white1931 {
		r, err := rendering.ColourRendering(s)
		f, err2 := rendering.ColourFidelity(s)
		if note(err) && note(err2) {
			v[9], v[10], v[11] = r.Ra, r.R[8], f.Rf
		}
	}
	for _, x := range v {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			row = append(row, "")
		} else {
			row = append(row, strconv.FormatFloat(x, 'g', -1, 64))
		}
	}
	return row, notes
}

// mostReflected is what a fluorescent surface may well reflect; percent are far
// above it.
const mostReflected = 2

// darkness says what is wrong with the values of a spectrum, if anything is.
func darkness(s spectrum.Spectrum, surface bool) string {
	_, values := s.Samples()
	lo, hi := slices.Min(values), slices.Max(values)
	switch {
	case lo == 0 && hi == 0:
		return "the spectrum is dark: all values are 0"
	case hi <= 0:
		return "all values are 0 or below; a light gives, it does not take"
	case surface && hi > mostReflected:
		return fmt.Sprintf("values up to %g: reflectances run from 0 to 1, so divide percent by 100", hi)
	}
	return ""
}

// step returns the distance of a table's wavelengths where they are whole steps
// of 1 to 5 nm, else 1.
func step(s spectrum.Spectrum) float64 {
	nm, _ := s.Samples()
	d := nm[1] - nm[0]
	if d != math.Round(d) || d < 1 || d > 5 || math.Mod(nm[0], d) != 0 {
		return 1
	}
	for i := range nm[1:] {
		if nm[i+1]-nm[i] != d {
			return 1
		}
	}
	return d
}

// look returns the colour of a light, or of a surface under a lamp, and the
// white it is seen from.
func look(o spectrum.Observer, s spectrum.Spectrum, lamp *spectrum.Spectrum) (colorimetry.XYZ, colorimetry.Chromaticity, error) {
	if lamp == nil {
		c, err := o.EmissionWith(s, spectrum.Summation{StepNM: step(s)})
		return c, colorimetry.Chromaticity{X: 1.0 / 3, Y: 1.0 / 3}, err
	}
	c, err := o.Reflection(s, *lamp, spectrum.Summation{})
	if err != nil {
		return c, colorimetry.Chromaticity{}, err
	}
	white, err := o.White(*lamp, spectrum.Summation{})
	return c, white.Chromaticity(), err
}
