package vtt_test

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"rollwright/internal/judge"
	"rollwright/telling/vtt"
)

func Example() {
	_ = vtt.Encode(os.Stdout, []vtt.Cue{
		{0, 2.5, "Two Shuttles"},
		{56, 61.0005, "slow & quick strike together: 3 < 4."},
		{3600, 3661.25, "an hour on"},
	})
	// Output:
	// WEBVTT
	//
	// 00:00:00.000 --> 00:00:02.500
	// Two Shuttles
	//
	// 00:00:56.000 --> 00:01:01.001
	// slow &amp; quick strike together: 3 &lt; 4.
	//
	// 01:00:00.000 --> 01:01:01.250
	// an hour on
}

func TestErrors(t *testing.T) {
	for _, c := range []vtt.Cue{{-1, 2, "x"}, {2, 2, "x"}, {3, 2, "x"}} {
		if err := vtt.Encode(&bytes.Buffer{}, []vtt.Cue{c}); err == nil {
			t.Errorf("%v is written", c)
		}
	}
}

// TestOutsideReader: ffmpeg reads the cues back, as SubRip.
func TestOutsideReader(t *testing.T) {
	ffmpeg := judge.Program(t, "ffmpeg")
	name := filepath.Join(t.TempDir(), "x.vtt")
	var b bytes.Buffer
	if err := vtt.Encode(&b, []vtt.Cue{{1, 2, "one"}, {2.25, 4, "two & <three>"}}); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(name, b.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
	got, err := exec.Command(ffmpeg, "-v", "error", "-i", name, "-f", "srt", "-").Output()
	if err != nil {
		t.Fatal(err)
	}
	const want = "1\n00:00:01,000 --> 00:00:02,000\none\n\n2\n00:00:02,250 --> 00:00:04,000\ntwo & <three>"
	if s := strings.TrimSpace(strings.ReplaceAll(string(got), "\r", "")); s != want {
		t.Errorf("got\n%s\nwant\n%s", s, want)
	}
}
