package icc_test

import (
	"fmt"

	"example.org/primaries/colorimetry"
	"example.org/primaries/icc"
)

// A list of two spot colours, written and looked up again.
func ExampleNamedColors() {
	list := icc.NamedColors{Prefix: "House ", Channels: 3, Colors: []icc.NamedColor{
		{Name: "Rust", Device: []uint16{40000, 16000, 9000}},
		{Name: "Reed", Device: []uint16{30000, 40000, 11000}},
	}}
	for i, lab := range []colorimetry.Lab{{L: 41, A: 38, B: 32}, {L: 58, A: -18, B: 41}} {
		if err := list.Colors[i].SetLab(lab); err != nil {
			fmt.Println(err)
			return
		}
	}
	p := &icc.Profile{Header: icc.Header{Version: icc.V4, Class: icc.ClassNamedColor, Space: icc.SpaceRGB, PCS: icc.SpaceLab, Illuminant: colorimetry.D50()}}
	p.Set(icc.TagNamedColors, list)
	b, err := p.Encode()
	if err != nil {
		fmt.Println(err)
		return
	}

	q, err := icc.Decode(b)
	if err != nil {
		fmt.Println(err)
		return
	}
	c, ok := q.Value(icc.TagNamedColors).(icc.NamedColors).Find("House Reed")
	fmt.Printf("%v %s %.2f %v\n", ok, c.Name, c.Lab(), c.Device)
	// Output: true Reed {58.00 -18.00 41.00} [30000 40000 11000]
}
