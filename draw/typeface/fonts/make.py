#!/usr/bin/python3
"""Make the four embedded fonts from the npm packages they come from.

    npm pack @fontsource/ibm-plex-sans@5.3.0 @fontsource/source-serif-4@5.3.1
    for p in fontsource-*.tgz; do mkdir -p ${p%.tgz}; tar xzf $p -C ${p%.tgz}; done
    /usr/bin/python3 make.py DIRECTORY-WITH-THEM

Latin, Latin Extended and Greek are joined into one TrueType font a face,
without hinting and layout tables. Signs of music and arithmetic that the
packages lack are drawn here. The Open Font License keeps the names of the
originals for the originals, so the results carry names of their own.
Needs Debian's python3-fonttools.
"""
import io
import os
import sys

from fontTools import merge, subset
from fontTools.pens.transformPen import TransformPen
from fontTools.pens.ttGlyphPen import TTGlyphPen
from fontTools.ttLib import TTFont

FACES = [
    ("sans.ttf", "fontsource-ibm-plex-sans-5.3.0/package/files/ibm-plex-sans-%s-400-normal.woff", "Rollwright Sans", "Regular"),
    ("sans-bold.ttf", "fontsource-ibm-plex-sans-5.3.0/package/files/ibm-plex-sans-%s-600-normal.woff", "Rollwright Sans", "Bold"),
    ("serif.ttf", "fontsource-source-serif-4-5.3.1/package/files/source-serif-4-%s-400-normal.woff", "Rollwright Serif", "Regular"),
    ("serif-italic.ttf", "fontsource-source-serif-4-5.3.1/package/files/source-serif-4-%s-400-italic.woff", "Rollwright Serif", "Italic"),
]

KEEP = (list(range(0x20, 0x7F)) + list(range(0xA0, 0x180)) + [0x218, 0x219, 0x21A, 0x21B]
        + list(range(0x386, 0x3CF)) + list(range(0x2010, 0x2028)) + list(range(0x2030, 0x203B))
        + [0x20AC, 0x2122, 0x2190, 0x2191, 0x2192, 0x2193, 0x2212, 0x2215, 0x2248, 0x2260, 0x2264, 0x2265, 0xFFFD])


def part(path):
    font = TTFont(path)
    options = subset.Options(hinting=False, layout_features=[], notdef_outline=True, glyph_names=False,
                             name_IDs=[1, 2], drop_tables=["GSUB", "GPOS", "GDEF", "STAT", "DSIG", "meta", "fvar", "avar"])
    s = subset.Subsetter(options)
    s.populate(unicodes=KEEP)
    s.subset(font)
    font.flavor = None
    data = io.BytesIO()
    font.save(data)
    data.seek(0)
    return data


def join(pattern):
    files = []
    for block in ("latin", "latin-ext", "greek"):
        name = "/tmp/rollwright-font-%d.ttf" % len(files)
        with open(name, "wb") as f:
            f.write(part(pattern % block).read())
        files.append(name)
    font = merge.Merger(merge.Options(drop_tables=["GSUB", "GPOS", "GDEF"])).merge(files)
    for name in files:
        os.remove(name)
    return font


def add(font, rune, name, width, draw):
    pen = TTGlyphPen(font.getGlyphSet())
    draw(pen)
    font.setGlyphOrder(font.getGlyphOrder() + [name])
    glyph = pen.glyph()
    glyph.recalcBounds(font["glyf"])
    font["glyf"][name] = glyph
    font["hmtx"][name] = (width, glyph.xMin)
    for table in font["cmap"].tables:
        if table.isUnicode():
            table.cmap[rune] = name


def polygon(pen, *points):
    pen.moveTo(points[0])
    for p in points[1:]:
        pen.lineTo(p)
    pen.closePath()


def signs(font, weight):
    """Draw what the packages lack, with strokes of the given weight."""
    w = weight
    have = font.getBestCmap()
    glyphs = font.getGlyphSet()

    def turned(dx, matrix):
        def draw(pen):
            glyphs[have[0x2191]].draw(TransformPen(pen, matrix))
        return draw

    up = font["glyf"][have[0x2191]]
    cx, cy = (up.xMin + up.xMax) / 2, (up.yMin + up.yMax) / 2
    half, middle = (up.yMax - up.yMin) / 2, 320
    width = int(2 * half + 120)
    if 0x2192 not in have:  # the up arrow, a quarter turn to the right, and its mirror
        add(font, 0x2192, "arrowright.own", width, turned(0, (0, -1, 1, 0, width / 2 - cy, middle + cx)))
        add(font, 0x2190, "arrowleft.own", width, turned(0, (0, 1, -1, 0, width / 2 + cy, middle - cx)))

    def root(pen):
        polygon(pen, (30, 330), (150, 400), (270, 130), (430, 800), (640, 800), (640, 800 - w), (490, 800 - w), (310, -60), (240, -60), (120, 290), (55, 255))

    def sharp(pen):
        for x in (130, 290):
            polygon(pen, (x, 740 - (290 - x) * 0.25), (x + w, 740 - (290 - x) * 0.25), (x + w, -60 - (290 - x) * 0.25), (x, -60 - (290 - x) * 0.25))
        for y in (230, 450):
            polygon(pen, (50, y), (50, y + 1.3 * w), (400 + w, y + 1.3 * w + 70), (400 + w, y + 70))

    def flat(pen):
        polygon(pen, (60, 780), (60 + w, 780), (60 + w, 60), (60, -20))
        polygon(pen, (60, -20), (60, 60), (230, 200), (300, 290), (300, 350), (260, 385), (200, 385), (60 + w, 320),
                (60 + w, 385), (200, 450), (300, 450), (380, 370), (380, 270), (300, 160))

    def natural(pen):
        polygon(pen, (60, 760), (60 + w, 760), (60 + w, 130), (60, 130))
        polygon(pen, (280, 520), (280 + w, 520), (280 + w, -100), (280, -100))
        for y in (130, 410):
            polygon(pen, (60, y), (60, y + 1.3 * w), (280 + w, y + 1.3 * w + 60), (280 + w, y + 60))

    add(font, 0x221A, "radical.own", 660, root)
    add(font, 0x266F, "sharp.own", 450 + w, sharp)
    add(font, 0x266D, "flat.own", 430, flat)
    add(font, 0x266E, "natural.own", 340 + w, natural)


def rename(font, family, style):
    name = font["name"]
    notice = name.getDebugName(0) or ""
    name.names = []
    full = family if style == "Regular" else family + " " + style
    for ident, text in ((0, notice), (1, family), (2, style), (3, full), (4, full), (6, full.replace(" ", "-", 9)),
                        (13, "SIL Open Font License 1.1; made from the font named in the licence file, under a name of its own")):
        name.setName(text, ident, 3, 1, 0x409)


def main(root):
    for out, pattern, family, style in FACES:
        source = TTFont(os.path.join(root, pattern % "latin"))
        notice = source["name"].getDebugName(0)
        font = join(os.path.join(root, pattern))
        signs(font, {"Bold": 95, "Regular": 62, "Italic": 62}[style])
        font["name"].setName(notice, 0, 3, 1, 0x409)
        rename(font, family, style)
        font["head"].created = font["head"].modified = 3786912000  # no clock
        font["post"].formatType = 3.0
        font.recalcTimestamp = False
        font.save(out)
        print(out, os.path.getsize(out), len(font.getGlyphOrder()), "glyphs")


main(sys.argv[1])
