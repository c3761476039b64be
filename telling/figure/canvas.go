package figure

import (
	"rollwright/draw"
	"rollwright/draw/typeface"
	"rollwright/text/words"
)

// Figures are laid out in the millimetres of a page; those of a slide are made
// larger as a whole, so that 28 of 720 pixels of height are the size of labels.
const (
	pageWidth  = 160.0
	pageHeight = 190.0 // at most, without title and caption
	margin     = 3.0

	slideWidth  = 338.667 // mm of the slide, 16 : 9
	slideHeight = 190.5
	slideScale  = slideHeight * 28 / 720 / labelSize
)

// Sizes of type in millimetres of a page, in a scale of 1.2.
const (
	smallSize   = 2.33
	labelSize   = 2.8
	captionSize = 3.36
	titleSize   = 4.84
)

// canvas is a drawing in the making.
type canvas struct {
	drawing *draw.Drawing
	talk    *words.Talk
	ink     Ink
	size    Size
	bare    bool
	small   float64 // size of the smallest type
	width   float64 // of what a view may use
	height  float64 // likewise, at most
	used    float64 // of it, set by the view
}

func newCanvas(d *draw.Drawing, t *words.Talk, o *Options) *canvas {
	c := &canvas{drawing: d, talk: t, ink: o.Ink, size: o.Size, bare: o.Bare, small: smallSize,
		width: pageWidth - 2*margin, height: pageHeight}
	if o.Size == Slide {
		c.small = labelSize
		c.width, c.height = slideWidth/slideScale-2*margin, slideHeight/slideScale-2*margin
	}
	return c
}

// lay draws the view with its title above and its caption below.
func (c *canvas) lay(f *Figure, v view) {
	head, foot, caption := 0.0, 0.0, []string(nil)
	if !c.bare {
		head = titleSize * 1.5
		caption = typeface.Serif.Wrap(f.Caption, captionSize, c.width)
		foot = 2 + captionSize*1.35*float64(len(caption))
	}
	if c.size == Slide {
		c.height -= head + foot
	}
	v.draw(c, f)
	if c.size == Slide && c.used > c.height { // rather smaller than cut off
		enlarge(f, c.height/c.used)
		c.used = c.height
	}
	bottom := c.used
	if c.size == Slide {
		bottom = max(c.height, c.used)
	}
	if !c.bare {
		l := c.layer("words")
		l.Add(&draw.Text{At: draw.Point{X: 0, Y: -titleSize * 0.6}, Text: typeface.Serif.Fit(f.Title, titleSize, c.width),
			SizeMM: titleSize, Face: typeface.Serif, Ink: draw.InkDark})
		for i, line := range caption {
			l.Add(&draw.Text{At: draw.Point{X: 0, Y: bottom + 2 + captionSize*(0.95+1.35*float64(i))}, Text: line,
				SizeMM: captionSize, Face: typeface.Serif, Ink: draw.InkDark})
		}
	}
	c.drawing.Frame = draw.Box(-margin, -head-margin, c.width+margin, bottom+foot+margin)
	if c.ink == BlackInk {
		c.drawing.Grey()
	}
	if c.size == Slide {
		enlarge(f, slideScale)
	}
}

func (c *canvas) layer(id string) *draw.Layer { return c.drawing.Layer(id, "") }

// hue is the ink of a voice.
func (c *canvas) hue(voice int) draw.Ink {
	if c.ink == BlackInk {
		return draw.Black
	}
	return draw.VoiceHue(voice)
}

// stroke is the line of a voice, in its pattern.
func (c *canvas) stroke(voice int, width float64) draw.Stroke {
	s := draw.VoiceStroke(voice, width)
	if c.ink == BlackInk {
		s.Ink = draw.Black
	}
	return s
}

// accent is the ink of what matters most in a figure.
func (c *canvas) accent() draw.Ink {
	if c.ink == BlackInk {
		return draw.Black
	}
	return draw.Brass
}

// tint is a light ground in the ink of a voice: share of ink in white, 0 to 1.
func (c *canvas) tint(voice int, share float64) draw.Ink {
	return mix(c.hue(voice), share)
}

// mix is an ink thinned with white.
func mix(i draw.Ink, share float64) draw.Ink {
	thin := func(v uint8) uint8 { return uint8(255 - share*float64(255-int(v)) + 0.5) }
	return draw.Ink{R: thin(i.R), G: thin(i.G), B: thin(i.B), A: 255}
}

// label is a line of sans text of the given size.
func label(x, y, size float64, s string, ink draw.Ink, a draw.Anchor) *draw.Text {
	return &draw.Text{At: draw.Point{X: x, Y: y}, Text: s, SizeMM: size, Face: typeface.Sans, Ink: ink, Anchor: a}
}

// middle is a label whose capitals and figures are centred on x, y.
func middle(x, y, size float64, s string, ink draw.Ink) *draw.Text {
	return label(x, y+capHalf(size), size, s, ink, draw.Middle)
}

// capHalf is half the height of capitals and figures at a size of sans.
func capHalf(size float64) float64 {
	return float64(typeface.Sans.CapHeight()) * size / typeface.UnitsPerEm / 2
}

// bold makes a label bold.
func bold(t *draw.Text) *draw.Text {
	t.Face = typeface.SansBold
	return t
}

// named gives a text an identifier.
func named(t *draw.Text, id string) *draw.Text {
	t.ID = id
	return t
}

func line(x1, y1, x2, y2 float64, s draw.Stroke) *draw.Path {
	return (&draw.Path{Stroke: s}).Line(x1, y1, x2, y2)
}

func box(r draw.Rect, fill draw.Ink, s draw.Stroke) *draw.Path {
	return (&draw.Path{Fill: fill, Stroke: s}).Rect(r)
}

func disc(x, y, r float64, fill draw.Ink, s draw.Stroke) *draw.Path {
	return (&draw.Path{Fill: fill, Stroke: s}).Circle(x, y, r)
}

// fit shortens a text that would pass x.
func fit(t *draw.Text, x float64) *draw.Text {
	t.Text = t.Face.Fit(t.Text, t.SizeMM, x-t.At.X)
	return t
}
