package embed_test

import (
	"bytes"
	"fmt"
	"image"
	"image/png"

	"example.org/primaries/colorimetry"
	"example.org/primaries/icc"
	"example.org/primaries/icc/embed"
)

// display returns the profile of an invented display.
func display() ([]byte, error) {
	chad, err := colorimetry.Bradford(colorimetry.D65(), colorimetry.D50())
	if err != nil {
		return nil, err
	}
	power := &icc.ParametricCurve{G: 2.2}
	p, err := icc.MatrixProfile(icc.MatrixSpec{
		Description: "Display in the corner",
		Colorants: [3]colorimetry.XYZ{
			chad.Apply(colorimetry.XYZ{X: 0.4124, Y: 0.2126, Z: 0.0193}),
			chad.Apply(colorimetry.XYZ{X: 0.3576, Y: 0.7152, Z: 0.1192}),
			chad.Apply(colorimetry.XYZ{X: 0.1805, Y: 0.0722, Z: 0.9505}),
		},
		Parametric: [3]*icc.ParametricCurve{power, power, power},
		Chad:       chad,
	})
	if err != nil {
		return nil, err
	}
	return p.Encode()
}

// screenshot returns a PNG without a profile, as programs make it that know
// nothing of colour.
func screenshot() []byte {
	var b bytes.Buffer
	if err := png.Encode(&b, image.NewRGBA(image.Rect(0, 0, 8, 8))); err != nil {
		panic(err) // memory does not fail to write
	}
	return b.Bytes()
}

// A screenshot is given the profile of the display that it was taken on. A file
// on disk is given as the *os.File and its size.
func ExampleInsert() {
	profile, err := display()
	if err != nil {
		fmt.Println(err)
		return
	}
	src := screenshot()
	var dst bytes.Buffer
	err = embed.Insert(&dst, bytes.NewReader(src), int64(len(src)), profile, embed.Options{Name: "Display in the corner"})
	if err != nil {
		fmt.Println(err)
		return
	}
	m, err := png.Decode(&dst)
	fmt.Println("still a picture of", m.Bounds().Size(), err)

	// A gray profile does not fit an RGB picture: 'GRAY' in place of 'RGB '.
	copy(profile[16:], "GRAY")
	err = embed.Insert(&dst, bytes.NewReader(src), int64(len(src)), profile, embed.Options{})
	fmt.Println(err)
	// Output:
	// still a picture of (8,8) <nil>
	// embed: PNG at byte 8: the profile does not fit the image: the image is RGB, the profile's colour space is GRAY; give a profile for RGB, or convert the image
}

// A picture says what its numbers mean.
func ExampleExtract() {
	profile, err := display()
	if err != nil {
		fmt.Println(err)
		return
	}
	src := screenshot()
	var file bytes.Buffer
	if err := embed.Insert(&file, bytes.NewReader(src), int64(len(src)), profile, embed.Options{}); err != nil {
		fmt.Println(err)
		return
	}

	b := file.Bytes()
	found, err := embed.Extract(bytes.NewReader(b), int64(len(b)), embed.Limits{})
	if err != nil {
		fmt.Println(err)
		return
	}
	if found.Profile == nil {
		fmt.Println("no profile; take the numbers for sRGB")
		return
	}
	p, err := icc.Decode(found.Profile)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%s, profile %q: %s, %v\n", found.Format, found.Name, p.Description(), p.Header.Space)
	// Output:
	// PNG, profile "ICC profile": Display in the corner, RGB
}

// The picture is published without saying which display it came from.
func ExampleRemove() {
	src := screenshot()
	var file, bare bytes.Buffer
	profile, err := display()
	if err == nil {
		err = embed.Insert(&file, bytes.NewReader(src), int64(len(src)), profile, embed.Options{})
	}
	if err == nil {
		err = embed.Remove(&bare, bytes.NewReader(file.Bytes()), int64(file.Len()), embed.Options{})
	}
	fmt.Println(bytes.Equal(bare.Bytes(), src), err)
	// Output:
	// true <nil>
}
