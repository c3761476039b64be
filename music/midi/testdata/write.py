"""Write a file of many notes with mido and print the seconds that took.

The notes are made before the clock runs: only mido's writing counts.
"""
import io
import sys
import time
import mido

notes = int(sys.argv[1])
mid = mido.MidiFile(type=1, ticks_per_beat=25000)
track = mido.MidiTrack()
mid.tracks.append(track)
for i in range(notes):
    key = 21 + i * 7 % 88
    track.append(mido.Message("note_on", note=key, velocity=80, time=1000))
    track.append(mido.Message("note_on", note=key, velocity=0, time=1000))
out = io.BytesIO()
start = time.perf_counter()
mid.save(file=out)
print(time.perf_counter() - start)
