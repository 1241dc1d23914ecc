package embed

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"example.org/primaries/icc"
)

// page is a directory that is written anew.
type page struct {
	place
	kept  int64 // its entries but for profiles
	fresh place // where it goes
	data  int64 // where its profile goes
}

// mostGrowth bounds what a file with very many pages can grow by: as much as a
// TIFF can hold.
const mostGrowth = math.MaxUint32

// editTIFF puts the profile and the changed directories behind the end of
// the file and lets the header point there. All offsets in the file stay valid,
// those in fields that nobody knows included.
//
// Directories of the chain that do not change keep their place unless all pages
// are asked for, when each is written anew.
func (f *file) editTIFF(p *profile, o Options) ([]edit, error) {
	t, err := openTIFF(f)
	if err != nil {
		return nil, err
	}
	places, err := t.chain()
	if err != nil {
		return nil, err
	}
	if !o.AllPages {
		places = places[:1]
	}
	if most := o.Limits.pages(); len(places) > most {
		return nil, f.fail(places[most].off, ErrLimit, fmt.Sprintf("the file has %d pages, %v of %d", len(places), ErrLimit, most), "raise Limits.Pages if you trust the file, or change the first page alone")
	}
	pages := make([]page, len(places))
	had := false
	for i, at := range places {
		entries, err := t.entries(at)
		if err != nil {
			return nil, err
		}
		if err := t.fit(entries, at, p); err != nil {
			return nil, err
		}
		pages[i] = page{place: at, kept: int64(len(t.others(entries)))}
		had = had || pages[i].kept < at.n
		if pages[i].kept == 0 {
			return nil, f.damaged(at.off, "the directory holds nothing but a profile, that is no image")
		}
	}
	if p == nil && !had {
		return nil, nil
	}
	last := places[len(places)-1]
	next, err := t.offsetAt(last.off + t.size(last) - t.word())
	if err != nil {
		return nil, err
	}
	if err := t.lay(pages, p); err != nil {
		return nil, err
	}
	return []edit{
		{off: t.pointer(), end: t.pointer() + t.word(), with: t.appendWord(nil, pages[0].fresh.off)},
		{off: f.size, end: f.size, more: func(put func([]byte) error) error { return t.writePages(pages, p, next, put) }},
	}, nil
}

// others returns the entries without those of profiles, in the same memory.
func (t *tiffFile) others(entries []entry) []entry {
	return slices.DeleteFunc(entries, func(e entry) bool { return t.tag(e) == tagProfile })
}

// align returns the next place where data may begin.
func (t *tiffFile) align(off int64) int64 { return (off + t.word() - 1) / t.word() * t.word() }

// lay gives each page the place of its own copy of the profile and of its
// directory, behind the end of the file.
//
// Source: TIFF 6.0, section 2: directories and values begin at even offsets
// (at multiples of their words here); section 7: no two directories share data.
func (t *tiffFile) lay(pages []page, p *profile) error {
	end := t.f.size
	for i := range pages {
		g := &pages[i]
		g.fresh.n = g.kept
		if p != nil {
			g.data = t.align(end)
			end = g.data + int64(len(p.bytes))
			g.fresh.n++
		}
		if g.fresh.n > mostEntries {
			return t.f.fail(g.off, icc.ErrUnsupported, "a directory has no room for another entry", saveAnew)
		}
		g.fresh.off = t.align(end)
		end = g.fresh.off + t.size(g.fresh)
		switch {
		case !t.big && end > math.MaxUint32:
			return t.f.fail(t.f.size, icc.ErrUnsupported, "the file would grow beyond what the offsets of a TIFF can reach", "save it as BigTIFF")
		case end-t.f.size > mostGrowth:
			return t.f.fail(t.f.size, ErrLimit, fmt.Sprintf("profiles and directories of its %d pages would take more than %d bytes", len(pages), int64(mostGrowth)), "split the file")
		}
	}
	return nil
}

// writePages writes what lay has given a place. next is what the last page
// points to.
func (t *tiffFile) writePages(pages []page, p *profile, next int64, put func([]byte) error) error {
	end := t.f.size
	at := func(off int64, b []byte) error {
		if off > end {
			if err := put(make([]byte, off-end)); err != nil {
				return err
			}
		}
		end = off + int64(len(b))
		return put(b)
	}
	for i, g := range pages {
		entries, err := t.entries(g.place)
		if err != nil {
			return err
		}
		entries = t.others(entries)
		if p != nil {
			if err := at(g.data, p.bytes); err != nil {
				return err
			}
			entries = append(entries, t.profileEntry(int64(len(p.bytes)), g.data))
		}
		link := next
		if i+1 < len(pages) {
			link = pages[i+1].fresh.off
		}
		if err := at(g.fresh.off, t.directory(entries, link)); err != nil {
			return err
		}
	}
	return nil
}

// profileEntry returns the entry of a profile of n bytes at off, which never
// fits the entry itself.
func (t *tiffFile) profileEntry(n, off int64) entry {
	e := t.order.AppendUint16(nil, tagProfile)
	e = t.order.AppendUint16(e, typeUndefined)
	return t.appendWord(t.appendWord(e, n), off)
}

// directory returns the bytes of a directory, its entries sorted as TIFF 6.0,
// section 2, wants them.
func (t *tiffFile) directory(entries []entry, next int64) []byte {
	slices.SortStableFunc(entries, func(a, b entry) int { return cmp.Compare(t.tag(a), t.tag(b)) })
	b := make([]byte, 0, t.size(place{n: int64(len(entries))}))
	if t.big {
		b = t.order.AppendUint64(b, uint64(len(entries)))
	} else {
		b = t.order.AppendUint16(b, uint16(len(entries)))
	}
	for _, e := range entries {
		b = append(b, e...)
	}
	return t.appendWord(b, next)
}

// fit checks the profile against what a directory says of its samples. Kinds of
// image beyond TIFF 6.0, such as the sensor's own samples, and directories that
// do not say are not judged.
//
// Source: TIFF 6.0, section 8 (PhotometricInterpretation), 16 (InkSet), 18
// (ExtraSamples), 23 (CIE L*a*b*); 9 and 10 are ICC and ITU L*a*b*, from memory.
func (t *tiffFile) fit(entries []entry, at place, p *profile) error {
	if p == nil {
		return nil
	}
	photometric, samples, extra := int64(-1), int64(1), int64(0)
	for _, e := range entries {
		switch t.tag(e) {
		case tagPhotometric:
			if t.kind(e) == typeShort && t.count(e) == 1 {
				photometric = t.value(e)
			}
		case tagSamples:
			samples = t.value(e)
		case tagExtra:
			extra = t.count(e)
		}
	}
	image, wanted := "", icc.Signature(0)
	switch photometric {
	case 0, 1:
		image, wanted = "gray", icc.SpaceGray
	case 2, 3, 6:
		image, wanted = "RGB", icc.SpaceRGB
	case 5:
		inks := samples - extra
		if inks > 0 && int64(icc.Channels(p.space)) == inks {
			return nil
		}
		return t.f.misfit(at.off, p, fmt.Sprintf("one of %d inks", inks), fmt.Sprintf("%d inks", inks))
	case 8, 9, 10:
		image, wanted = "L*a*b*", icc.SpaceLab
	default:
		return nil
	}
	if p.space != wanted {
		return t.f.misfit(at.off, p, image, image)
	}
	return nil
}
