package tone

import (
	"fmt"
	"strconv"
)

func parseBT1886(args []string) (Curve, error) {
	switch len(args) {
	case 0:
		return BT1886{}, nil
	case 2:
		white, err := parseNumber("the white of bt1886", args[0], 1e-6, 1e6)
		if err != nil {
			return nil, err
		}
		black, err := parseNumber("the black of bt1886", args[1], 0, white)
		if err != nil {
			return nil, err
		}
		if black == white {
			return nil, fmt.Errorf("tone: bt1886 needs a black below its white of %g cd/m²", white)
		}
		return BT1886{white, black}, nil
	}
	return nil, fmt.Errorf(`tone: bt1886 takes white and black in cd/m², as in "bt1886 100 0.05", or nothing`)
}

func parseBT2020(args []string) (Curve, error) {
	switch {
	case len(args) == 0:
		return BT2020{}, nil
	case len(args) == 1 && (args[0] == "10" || args[0] == "12"):
		bits, _ := strconv.Atoi(args[0])
		return BT2020{bits}, nil
	}
	return nil, fmt.Errorf(`tone: bt2020 takes 10 or 12, for the rounding of systems of so many bits, or nothing`)
}

func parsePQ(args []string) (Curve, error) {
	switch len(args) {
	case 0:
		return PQ{}, nil
	case 1:
		peak, err := parseNumber("the peak of pq", args[0], 1e-3, PQPeakCdM2)
		if err != nil {
			return nil, err
		}
		return PQ{peak}, nil
	}
	return nil, fmt.Errorf(`tone: pq takes the display's peak in cd/m², as in "pq 1000", or nothing`)
}

func parseHLG(args []string) (Curve, error) {
	if len(args) != 0 && len(args) != 2 && len(args) != 3 {
		return nil, fmt.Errorf(`tone: hlg takes white and black in cd/m², and a system gamma if it is not the usual one, as in "hlg 1000 0.005", or nothing`)
	}
	var c HLG
	for i, a := range args {
		var err error
		switch i {
		case 0:
			c.WhiteCdM2, err = parseNumber("the white of hlg", a, 1, 1e5)
		case 1:
			c.BlackCdM2, err = parseNumber("the black of hlg", a, 0, 0.999*c.WhiteCdM2)
		case 2:
			c.SystemGamma, err = parseNumber("the system gamma of hlg", a, 0.1, maxGamma)
		}
		if err != nil {
			return nil, err
		}
	}
	if g := c.Gamma(); g != g {
		return nil, fmt.Errorf("tone: the black of hlg, %g of %g cd/m², leaves no signal below the white; give less than a quarter or so", c.BlackCdM2, c.white())
	}
	return c, nil
}

func parseGSDF(args []string) (Curve, error) {
	if len(args) != 3 {
		return nil, fmt.Errorf(`tone: gsdf takes white, black and ambient light in cd/m², as in "gsdf 400 0.4 0.1"`)
	}
	var v [3]float64
	for i, a := range args {
		var err error
		if v[i], err = parseNumber([...]string{"the white of gsdf", "the black of gsdf", "the ambient light of gsdf"}[i], a, 0, 4000); err != nil {
			return nil, err
		}
	}
	return nilOnError(NewGSDF(v[0], v[1], v[2]))
}

func parseParametric(args []string) (Curve, error) {
	if len(args) == 0 || len(args) > 8 {
		return nil, fmt.Errorf(`tone: icc takes a form and its parameters, as in "icc 0 2.2"`)
	}
	form, err := parseNumber("the form of icc", args[0], 0, 4)
	if err != nil {
		return nil, err
	}
	if form != float64(int(form)) {
		return nil, fmt.Errorf("tone: the form of icc is 0, 1, 2, 3 or 4, not %g", form)
	}
	parameters := make([]float64, len(args)-1)
	for i, a := range args[1:] {
		if parameters[i], err = parseNumber(fmt.Sprintf("icc parameter %d:", i+1), a, -1e6, 1e6); err != nil {
			return nil, err
		}
	}
	return nilOnError(NewParametric(int(form), parameters...))
}

// nilOnError returns a curve of any type, or nil with the error.
func nilOnError[C Curve](c C, err error) (Curve, error) {
	if err != nil {
		return nil, err
	}
	return c, nil
}
