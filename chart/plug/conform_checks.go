package plug

import (
	"math"
	"time"

	"example.org/primaries/chart/measure"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/spectrum"
	"example.org/primaries/colorimetry/tone"
)

func (c *probe) checkScreen() {
	if c.offer.screen == nil {
		return
	}
	c.check("shows patches", func() error {
		for _, v := range []float64{0, 1.0 / 3, 1} {
			if err := c.show(colorimetry.Gray(v)); err != nil {
				return err
			}
		}
		return nil
	})
	if c.offer.curves {
		c.check("takes curves of 2 to 4096 entries, and takes them away", func() error {
			for _, curves := range []tone.Channels{tone.Identity(2), tone.Identity(4096), {}} {
				if err := c.ask(curvesRequest(curves), c.options.Timeout, &noDone{}); err != nil {
					return err
				}
			}
			return nil
		})
	}
	if c.offer.check {
		c.check("finds its own patch where it stands", func() error {
			if err := c.show(colorimetry.Gray(0.5)); err != nil {
				return err
			}
			return c.ask(request{Do: doCheck}, c.options.Timeout, &noDone{})
		})
	}
}

// eyeProbe is one instrument of the program under test.
type eyeProbe struct {
	*probe
	name, channel string
	role          *instrumentRole
}

// read takes one integration.
func (e eyeProbe) read(reading, repeat int, signal colorimetry.RGB) (out measure.Sample, err error) {
	done := checked[measureDone]{check: func(m measureDone) (err error) {
		out, err = m.sample(e.role.spectrum)
		return err
	}}
	err = e.ask(request{Do: doMeasure, Channel: e.channel, Reading: &reading, Repeat: &repeat, Signal: wireRGB(signal)}, e.options.MeasureTimeout, &done)
	return out, err
}

// bright shows white where the program can, and takes n integrations of what is
// there.
func (e eyeProbe) bright(n int) (list []measure.Sample, err error) {
	white := colorimetry.Gray(1)
	if e.offer.screen != nil {
		if err := e.show(white); err != nil {
			return nil, err
		}
	}
	for i := range n {
		s, err := e.read(0, i, white)
		if err != nil {
			return nil, err
		}
		list = append(list, s)
	}
	return list, nil
}

func (c *probe) checkInstrument(e eyeProbe) {
	if e.role.dark != nil {
		c.check(e.name+": calibrates in the dark", func() error {
			if !c.options.Person {
				return &flaw{skipped: true, why: "it needs somebody who covers the instrument", todo: "run the check again with a person beside the instrument"}
			}
			done := checked[darkDone]{check: darkDone.check}
			return c.ask(request{Do: doCalibrate, Channel: e.channel}, c.options.PersonTimeout, &done)
		})
	}
	c.check(e.name+": measures", e.measures)
	if c.offer.screen != nil {
		c.check(e.name+": tells white from black", e.contrast)
	}
	c.check(e.name+": scatters as it states", e.scatter)
	if e.role.spectrum {
		c.check(e.name+": spectrum and XYZ agree", e.agreement)
	}
}

func (e eyeProbe) measures() error {
	began := time.Now()
	list, err := e.bright(1)
	if err != nil {
		return err
	}
	if most := time.Since(began) + 100*time.Millisecond; !e.offer.clock && list[0].Duration > most {
		return wrong(`give in "took_ns" how long the integration took, in ns`, "an integration of %v within %v", list[0].Duration, most)
	}
	return credible(list[0].XYZ, e.offer.screen != nil)
}

func (e eyeProbe) contrast() error {
	white, err := e.bright(1)
	if err != nil {
		return err
	}
	if err := e.show(colorimetry.RGB{}); err != nil {
		return err
	}
	black, err := e.read(1, 0, colorimetry.RGB{})
	if err == nil && !(black.XYZ.Y < white[0].XYZ.Y/5) {
		return wrong(`measure what "show" showed last; return from "show" when it is visible`, "white has %.4g cd/m² and black %.4g", white[0].XYZ.Y, black.XYZ.Y)
	}
	return err
}

// scatterRepeats is enough that four times the stated deviation is no accident:
// chi-square of 7 degrees of freedom exceeds 7·16 in 1 of 10^20.
const scatterRepeats = 8

func (e eyeProbe) scatter() error {
	n := e.role.info.Noise
	if n == (measure.Noise{}) {
		return &flaw{skipped: true, why: "it states no noise", todo: `state "noise" from the maker's figures or a repeatability study: weights rest on it`}
	}
	list, err := e.bright(scatterRepeats)
	if err != nil {
		return err
	}
	var mean, sum float64
	for _, s := range list {
		mean += s.XYZ.Y / scatterRepeats
	}
	for _, s := range list {
		sum += (s.XYZ.Y - mean) * (s.XYZ.Y - mean)
	}
	seen, stated := math.Sqrt(sum/(scatterRepeats-1)), math.Hypot(n.Luminance*mean, n.FloorCdM2)
	if seen > 4*stated {
		return wrong(`state the noise of one integration in "noise"`, "the luminance of %d integrations scatters by %.3g cd/m², and %.3g is stated", scatterRepeats, seen, stated)
	}
	return nil
}

// agreement holds the luminance against the spectrum, loosely: the program may
// have used another observer or other steps, but not another unit.
func (e eyeProbe) agreement() error {
	list, err := e.bright(1)
	if err != nil {
		return err
	}
	if y := spectrum.CIE1931().Emission(list[0].Spectrum).Y; math.Abs(y-list[0].XYZ.Y) > 0.1*math.Abs(list[0].XYZ.Y) {
		return wrong("give the spectral radiance in W/(sr m² nm), wavelengths in nm, and XYZ in cd/m²", "the spectrum has a luminance of %.4g cd/m² and XYZ one of %.4g", y, list[0].XYZ.Y)
	}
	return nil
}

func (c *probe) controls() error {
	for _, o := range c.offer.controls {
		if err := c.ask(request{Do: doSet, Control: o.Name, Step: &o.Now}, c.options.PersonTimeout, &noDone{}); err != nil {
			return err
		}
		beyond := o.Max + 1
		if err := c.ask(request{Do: doSet, Control: o.Name, Step: &beyond}, c.options.PersonTimeout, &noDone{}); err == nil {
			return wrong("refuse a step that a control does not have", "%s has the steps %d to %d, and took %d", o.Name, o.Min, o.Max, beyond)
		} else if !ownWord(err) {
			return err
		}
	}
	beside := 0
	err := c.ask(request{Do: doSet, Control: "no such control", Step: &beside}, c.options.PersonTimeout, &noDone{})
	if err == nil {
		return wrong("refuse a control that there is not", "it set a control that it does not offer")
	}
	if ownWord(err) {
		return nil
	}
	return err
}

func (c *probe) checkClock() {
	if !c.offer.clock {
		return
	}
	c.check("clock: moves by what it is told to sleep", func() error {
		before, d := c.k.now, 1234567891*time.Nanosecond
		if err := c.wait(d); err != nil {
			return err
		}
		if moved := c.k.now.Sub(before); moved != d {
			return wrong(`move "now" by exactly "for_ns"; write it with nine digits of a second`, "it slept %d ns and its time moved by %d", d, moved)
		}
		return nil
	})
	if c.offer.instrument != nil {
		e := eyeProbe{c, "instrument", "", c.offer.instrument}
		c.check("clock: comes back to the same readings", e.restores)
	}
}

// restores takes a reading, lets time pass, goes back and takes it again.
func (e eyeProbe) restores() error {
	white, reading := colorimetry.Gray(1), 6
	if _, err := e.bright(1); err != nil {
		return err
	}
	at := e.k.now
	first, err := e.read(reading+1, 1, white)
	if err != nil {
		return err
	}
	if moved := e.k.now.Sub(at); moved != first.Duration {
		return wrong(`move "now" by "took_ns" while measuring`, "an integration of %d ns moved its time by %d", first.Duration, moved)
	}
	if err := e.wait(time.Hour); err != nil {
		return err
	}
	if err := e.ask(request{Do: doRestore, Time: &at, Reading: &reading}, e.options.Timeout, &noDone{}); err != nil {
		return err
	}
	if !e.k.now.Equal(at) {
		return wrong(`set "now" to "time"`, "it was set to %s and says %s", at.Format(time.RFC3339Nano), e.k.now.Format(time.RFC3339Nano))
	}
	second, err := e.read(reading+1, 1, white)
	if err == nil && first.XYZ != second.XYZ {
		return wrong(`let what is simulated follow from the start options, "now", "reading" and "repeat" alone, and print all digits`, "it read %v and then %v", first.XYZ, second.XYZ)
	}
	return err
}

// listening is how long a program must say nothing unasked.
const listening = 100 * time.Millisecond

// silence waits for lines that nothing asked for.
func (c *probe) silence() error {
	t := time.NewTimer(listening)
	defer t.Stop()
	select {
	case e := <-c.k.events:
		if e.err != nil {
			return c.ended()
		}
		c.got = quoted(e.line)
		c.bury()
		return wrong("write to standard output nothing but answers; standard error takes the rest", "a line came that no message asked for")
	case <-t.C:
		return nil
	case <-c.ctx.Done():
		return c.ctx.Err()
	}
}

func (c *probe) farewell() error {
	k := c.k
	c.k = nil
	began := time.Now()
	how := k.end(c.options.EndTimeout)
	if time.Since(began) >= c.options.EndTimeout {
		return wrong("end when standard input ends: let go of the device and exit with status 0", "it still ran %v after its standard input was closed", c.options.EndTimeout)
	}
	if how != "exit status 0" {
		return wrong("end with exit status 0 when standard input ends", "it ended with %s", joined(how, k.words.String()))
	}
	return nil
}

// again holds what the program says after it was ended against what it said
// first; check has started it.
func (c *probe) again() error {
	if what := c.offer.differs(c.latest); what != "" {
		return wrong("say the same in every hello; only a control's step and the end of a dark calibration may differ", "its %s is not what it was", what)
	}
	return nil
}
