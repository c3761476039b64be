#!/usr/bin/python3
"""Make the faces of the text editor, in which columns line up, from an npm package.

    npm pack @fontsource/ibm-plex-mono@5.3.0 && tar xzf fontsource-ibm-plex-mono-5.3.0.tgz
    /usr/bin/python3 make.py package/files

Only Latin-1 is kept. The Open Font License keeps the name of the original for
the original, so the results carry a name of their own. Needs Debian's
python3-fonttools.
"""
import os
import sys

from fontTools import subset
from fontTools.ttLib import TTFont

HERE = os.path.dirname(os.path.abspath(__file__))

for out, weight, style in (("mono.woff", 400, "Regular"), ("mono-bold.woff", 600, "Bold")):
    font = TTFont(os.path.join(sys.argv[1], "ibm-plex-mono-latin-%d-normal.woff" % weight), recalcTimestamp=False)
    options = subset.Options(hinting=False, layout_features=[], notdef_outline=True,
                             drop_tables=["GSUB", "GPOS", "GDEF", "STAT", "DSIG", "meta"])
    s = subset.Subsetter(options)
    s.populate(unicodes=list(range(0x20, 0x7F)) + list(range(0xA0, 0x100)) + [0x2013, 0x2014, 0x2018, 0x2019, 0x201C, 0x201D, 0x2026])
    s.subset(font)
    name = font["name"]
    notice = name.getDebugName(0) or ""
    name.names = []
    full = "Rollwright Mono" if style == "Regular" else "Rollwright Mono " + style
    for ident, text in ((0, notice), (1, "Rollwright Mono"), (2, style), (3, full), (4, full), (6, full.replace(" ", "-")),
                        (13, "SIL Open Font License 1.1; made from the font named in the licence file, under a name of its own")):
        name.setName(text, ident, 3, 1, 0x409)
    font.flavor = "woff"
    font.save(os.path.join(HERE, out))
