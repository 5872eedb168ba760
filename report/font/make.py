#!/usr/bin/env python3
"""Cuts the bundled fonts out of their full versions.

    python3 make.py LATO_DIR GENTIUM_DIR NOTO_DIR

The folders hold Lato-*.ttf, GentiumBookPlus-*.ttf and
NotoSansMath-Regular.ttf. Needs fontTools. The output is the same for the same
input: the time stamps of the input are kept.
"""
import sys
from fontTools import subset
from fontTools.pens.transformPen import TransformPen
from fontTools.pens.ttGlyphPen import TTGlyphPen
from fontTools.ttLib import TTFont

WANTED = (
    [chr(c) for c in range(0x20, 0x7F)]
    + [chr(c) for c in range(0xA0, 0x180)]  # Latin-1 and Latin Extended-A
    + list("ȘșȚț" "Ȳȳẋẍẁẃẅ")
    + [chr(c) for c in range(0x386, 0x3D0)]  # Greek
    + list("ϑϕϵ")
    + list("⁰ⁱ⁴⁵⁶⁷⁸⁹⁺⁻⁼⁽⁾ⁿ₀₁₂₃₄₅₆₇₈₉₊₋₌₍₎ₐₑₒₓₕₖₗₘₙₚₛₜ")
    + list("–—―‘’‚“”„†‡•…‰′″‹›⁄€™ℓΩ℮←↑→↓↔⇌⇄⟶∂∆∏∑−∓∕∙√∝∞∫≈≠≡≤≥≪≫⋅◊")
    + list("\u0302\u0304\u0307\u0308")  # combining: estimate, mean, rates
    + [chr(c) for c in range(0x2000, 0x200C)]  # spaces
    + list("\u2011\u202f\u2032")
)
# Glyphs that the text fonts lack, taken from Noto Sans Math.
BORROWED = "⇌⇄⟶∓≡≪≫∝⋅"

FACES = [
    ("Lato-Regular", "Meniscus Sans", "Regular", "sans.ttf"),
    ("Lato-Bold", "Meniscus Sans", "Bold", "sans-bold.ttf"),
    ("GentiumBookPlus-Regular", "Meniscus Serif", "Regular", "serif.ttf"),
    ("GentiumBookPlus-Bold", "Meniscus Serif", "Bold", "serif-bold.ttf"),
    ("GentiumBookPlus-Italic", "Meniscus Serif", "Italic", "serif-italic.ttf"),
]


def borrow(font, maths):
    """Adds the glyphs of BORROWED that font lacks, scaled to its em."""
    scale = font["head"].unitsPerEm / maths["head"].unitsPerEm
    cmap, source, have = maths.getBestCmap(), maths.getGlyphSet(), font.getBestCmap()
    for char in BORROWED:
        if ord(char) in have:
            continue
        name = "uni%04X" % ord(char)
        pen = TTGlyphPen(None)
        source[cmap[ord(char)]].draw(TransformPen(pen, (scale, 0, 0, scale, 0, 0)))
        glyph = pen.glyph()
        width = maths["hmtx"][cmap[ord(char)]][0]
        font["glyf"][name] = glyph
        glyph.recalcBounds(font["glyf"])
        font["hmtx"][name] = (round(width * scale), getattr(glyph, "xMin", 0))
        for table in font["cmap"].tables:
            if table.isUnicode() and ord(char) < 0x10000:
                table.cmap[ord(char)] = name


def rename(font, family, style, notices):
    """Gives the modified font a name of its own, as the licence asks."""
    names = font["name"]
    licence = "This Font Software is licensed under the SIL Open Font License, Version 1.1."
    keep = {
        0: notices,
        1: family,
        2: style,
        3: f"{family} {style}",
        4: f"{family} {style}",
        5: names.getDebugName(5),
        6: f"{family.replace(' ', '')}-{style}",
        13: licence,
        14: "https://openfontlicense.org",
    }
    names.names = []
    for number, text in keep.items():
        names.setName(text, number, 3, 1, 0x409)


def main():
    lato, gentium, noto = sys.argv[1:4]
    maths = TTFont(f"{noto}/NotoSansMath-Regular.ttf")
    for file, family, style, out in FACES:
        font = TTFont(f"{lato if 'Lato' in file else gentium}/{file}.ttf", recalcTimestamp=False)
        notices = font["name"].getDebugName(0).split("Licensed")[0].strip()
        borrow(font, maths)
        options = subset.Options()
        options.hinting = False
        options.layout_features = ["kern", "mark", "mkmk", "ccmp"]
        options.name_IDs = ["*"]
        options.drop_tables += ["Silf", "Glat", "Gloc", "Feat", "Sill", "FFTM", "DSIG", "meta", "prop"]
        options.recalc_timestamp = False
        options.notdef_outline = True
        cutter = subset.Subsetter(options)
        cutter.populate(unicodes=[ord(c) for c in WANTED])
        cutter.subset(font)
        rename(font, family, style, notices.rstrip(".") + ". Some signs: " + maths["name"].getDebugName(0))
        font.save(out)
        have = font.getBestCmap()
        print(out, "lacks", [c for c in WANTED if ord(c) not in have])


if __name__ == "__main__":
    main()
