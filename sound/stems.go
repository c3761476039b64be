package sound

import (
	"context"
	"slices"

	"rollwright/music/event"
	"rollwright/sound/loudness"
)

// Stems makes one sound of each voice, all as long as the mix and at one gain, so
// that played together they are the mix without its limiter: stems have none. The
// gain is that of the mix, less what its limiter would take away anywhere, and less
// again if a stem alone peaks higher than all together. each gets them in the order
// of the voices, silent ones too, and must not keep them. The report is of all
// stems played together.
//
// Strokes of two voices on one key at one time are one, in the louder voice's stem.
// Errors are those of Mix, and what each returns.
func Stems(ctx context.Context, events []event.Event, o Options, each func(voice int32, s *Sound) error) (Report,
	error) {
	whole, err := Mix(ctx, slices.Values(events), o)
	if err != nil {
		return Report{}, err
	}
	report, peakDB := whole.Report(), loudness.DB(whole.record.TruePeak())
	if err := whole.Close(); err != nil {
		return report, err
	}
	gain := report.GainDB - report.LimitDB
	o.length = report.Frames
	o.GainDB = new(float64)
	voices := heardVoices(events)
	for _, v := range voices {
		err := stem(ctx, events, o, v, func(s *Sound) error {
			gain = min(gain, ceilingDB-loudness.DB(s.record.TruePeak()))
			return nil
		})
		if err != nil {
			return report, err
		}
	}
	*o.GainDB = gain
	for _, v := range voices {
		if err := stem(ctx, events, o, v, func(s *Sound) error { return each(v, s) }); err != nil {
			return report, err
		}
	}
	report.GainDB, report.LimitDB = gain, 0
	report.LUFS, report.TruePeakDB = report.MixLUFS+gain, peakDB+gain
	return report, nil
}

// stem mixes one voice.
func stem(ctx context.Context, events []event.Event, o Options, voice int32, use func(*Sound) error) error {
	o.voice = &voice
	s, err := Mix(ctx, slices.Values(events), o)
	if err != nil {
		return err
	}
	err = use(s)
	if e := s.Close(); err == nil {
		err = e
	}
	return err
}

func heardVoices(events []event.Event) []int32 {
	var voices []int32
	for _, e := range events {
		voices = append(voices, e.Voice)
	}
	slices.Sort(voices)
	return slices.Compact(voices)
}
