"""Print what mido finds in a Standard MIDI File, a line a thing.

Notes are paired within their track and channel, first in, first out; times
are seconds by mido's own arithmetic.
"""
import sys
import mido

mid = mido.MidiFile(sys.argv[1], charset="utf-8")
print("file", mid.type, mid.ticks_per_beat, len(mid.tracks))
tempo = 500000
for message in mid.tracks[0]:
    if message.type == "set_tempo":
        tempo = message.tempo
for number, track in enumerate(mid.tracks):
    now, sounding = 0, {}
    print("track", number, track.name)
    for message in track:
        now += message.time
        sec = mido.tick2second(now, mid.ticks_per_beat, tempo)
        if message.type == "note_on" and message.velocity > 0:
            sounding.setdefault((message.channel, message.note), []).append((sec, message.velocity))
        elif message.type in ("note_on", "note_off"):
            start, level = sounding[message.channel, message.note].pop(0)
            print("note", number, message.channel, message.note, level, repr(start), repr(sec))
        elif message.type == "control_change":
            print("control", number, message.channel, message.control, message.value, "%.9f" % sec)
    print("end", number, "%.9f" % sec, sum(map(len, sounding.values())))
