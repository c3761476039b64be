package instrument

// Caution is what a person minds before reaching into the instrument, in sentences:
// it follows from how the bar reads the paper and from what moves it. Usual cautions,
// common practice, no source.
func (in *Instrument) Caution() string {
	switch {
	case in.Transport.Crank && in.Bar.Reading == Pins:
		return "Nothing of it runs on mains current. Pins and the teeth of a comb are sharp, and wheels pinch: keep fingers, hair and sleeves away while the crank turns."
	case in.Transport.Crank:
		return "The crank moves paper and bellows together: keep fingers, hair and sleeves off crank, wheels and belts, and let the wind fall before you reach inside."
	case in.Bar.Reading == Pressure:
		return "The blower that presses the wind runs on mains current: pull the plug and let the pressure fall before you reach inside, and keep fingers from the frame that holds the paper down: it shuts hard."
	case in.Bar.Reading == Pins:
		return "The motor runs on mains current: pull the plug before you reach inside. Pins and the teeth of a comb are sharp: keep fingers, hair and sleeves away while it turns."
	}
	return "Suction motors run on mains current: pull the plug before you reach inside."
}

// Wiring is what to leave to others where the instrument has any; empty where it has
// none.
func (in *Instrument) Wiring() string {
	if in.Transport.Crank {
		return ""
	}
	return "Leave repairs of wiring to licensed people, and keep to local codes."
}

// Server is what bounds the notes that sound together: "the wind", or, where pins
// pluck, "the comb".
func (in *Instrument) Server() string {
	if in.Bar.Reading == Pins {
		return "the comb"
	}
	return "the wind"
}

// ReadAt is where on the instrument a hole is read: "its tracker bar", or what pins
// have in its place.
func (in *Instrument) ReadAt() string {
	if in.Bar.Reading == Pins {
		return "its row of pins"
	}
	return "its tracker bar"
}
