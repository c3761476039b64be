#!/usr/bin/python3
"""Make the embedded font of music signs from the npm package it comes from.

    npm pack @vexflow-fonts/bravura@1.0.2
    tar xzf vexflow-fonts-bravura-1.0.2.tgz
    /usr/bin/python3 make-music.py package/bravura.otf

The signs keep their places in the Standard Music Font Layout (SMuFL 1.4, W3C
Music Notation Community Group): an em is four staff spaces. The Open Font
License keeps the name of the original for the original, so the result carries
a name of its own. Needs fontTools (Debian's python3-fonttools).
"""
import sys

from fontTools.fontBuilder import FontBuilder
from fontTools.pens.cu2quPen import Cu2QuPen
from fontTools.pens.ttGlyphPen import TTGlyphPen
from fontTools.ttLib import TTFont

KEEP = ([0xE000, 0xE050, 0xE051, 0xE052, 0xE053, 0xE054, 0xE062, 0xE063, 0xE064, 0xE065, 0xE066]  # brace, clefs
        + list(range(0xE080, 0xE08A))  # digits of time signatures
        + [0xE0A0, 0xE0A2, 0xE0A3, 0xE0A4, 0xE1E7]  # noteheads, dot
        + list(range(0xE240, 0xE24C))  # flags
        + [0xE260, 0xE261, 0xE262, 0xE263, 0xE264]  # flat, natural, sharp, double sharp, double flat
        + list(range(0xE4E2, 0xE4EC))  # rests
        + [0xE520, 0xE521, 0xE522, 0xE566, 0xEAA4]  # p m f, trill, its wavy line
        + list(range(0xE880, 0xE88B))  # digits and colon of tuplets
        + [0xECA2, 0xECA3, 0xECA5, 0xECA7, 0xECA9, 0xECAB, 0xECAD, 0xECB7])  # notes of metronome marks


def main(path):
    source = TTFont(path)
    cmap, glyphs = source.getBestCmap(), source.getGlyphSet()
    missing = [hex(c) for c in KEEP if c not in cmap]
    if missing:
        sys.exit("not in the font: " + " ".join(missing))
    order = [".notdef", "space"] + [cmap[c] for c in KEEP]
    outlines, widths = {}, {}
    for name in order:
        pen = TTGlyphPen(None)
        advance = 250
        if name in glyphs and name != "space":
            glyphs[name].draw(Cu2QuPen(pen, max_err=0.5, reverse_direction=True))
            advance = glyphs[name].width
        outlines[name] = pen.glyph()
        widths[name] = advance
    build = FontBuilder(source["head"].unitsPerEm, isTTF=True)
    build.setupGlyphOrder(order)
    build.setupCharacterMap({0x20: "space", **{c: cmap[c] for c in KEEP}})
    build.setupGlyf(outlines)
    build.setupHorizontalMetrics({n: (widths[n], outlines[n].xMin if outlines[n].numberOfContours else 0) for n in order})
    build.setupHorizontalHeader(ascent=1100, descent=-700)
    build.setupNameTable({
        "copyright": source["name"].getDebugName(0),
        "familyName": "Rollwright Music", "styleName": "Regular", "uniqueFontIdentifier": "Rollwright Music",
        "fullName": "Rollwright Music", "psName": "RollwrightMusic", "version": "Version 1.0",
        "licenseDescription": "SIL Open Font License 1.1; made from the font named in the licence file, under a name of its own",
    }, mac=False)
    build.setupOS2(sTypoAscender=1100, sTypoDescender=-700, usWinAscent=1100, usWinDescent=700, sCapHeight=500, sxHeight=250, version=4)
    build.setupPost(keepGlyphNames=False)
    build.font["head"].created = build.font["head"].modified = 3786912000  # no clock
    build.font.recalcTimestamp = False
    build.save("music.ttf")
    print("music.ttf", len(order), "glyphs")


main(sys.argv[1])
