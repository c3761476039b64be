package draw

// The look of paper, ink, brass that all drawings share.
var (
	Black     = Hex(0x000000)
	White     = Hex(0xffffff)
	InkDark   = Hex(0x1f1b16) // text, holes in print
	InkSecond = Hex(0x6a6157) // what may be read second
	InkFaint  = Hex(0xb9b0a2) // guides
	Paper     = Hex(0xf3ecdc)
	Bench     = Hex(0xe4dccb)
	Brass     = Hex(0x8c6a2f)
)

// hues are the eight of M. Okabe and K. Ito, Color Universal Design (2008), in
// the order in which voices take them: the strongest on paper first.
var hues = [...]Ink{
	Hex(0x0072b2), // blue
	Hex(0xd55e00), // vermilion
	Hex(0x009e73), // bluish green
	Hex(0xcc79a7), // reddish purple
	Hex(0xe69f00), // orange
	Hex(0x56b4e9), // sky blue
	Hex(0xf0e442), // yellow
	Hex(0x000000), // black
}

// dashes go with the hues, so that print in one colour tells voices apart as
// well; in widths of the line, for round ends. A dot is a dash of almost no
// length: some readers leave out those of none.
var dashes = [...][]float64{
	nil,
	{3, 3},
	{0.05, 2.2},
	{6, 3, 0.05, 3},
	{8, 4},
	{1.5, 2.5},
	{6, 2.5, 0.05, 2.5, 0.05, 2.5},
	{12, 3},
}

// VoiceHue is the hue of the voice with the given index, from 0. From the
// ninth voice on the hues come again.
func VoiceHue(voice int) Ink { return hues[wrap(voice, len(hues))] }

// VoiceStroke is a line in the voice's hue and pattern. When the hues come
// again they meet other patterns: 64 voices differ.
func VoiceStroke(voice int, widthMM float64) Stroke {
	s := Stroke{Ink: VoiceHue(voice), WidthMM: widthMM, Cap: Round}
	for _, d := range dashes[wrap(voice+voice/len(hues), len(dashes))] {
		s.DashMM = append(s.DashMM, d*widthMM)
	}
	return s
}

func wrap(i, n int) int { return (i%n + n) % n }
