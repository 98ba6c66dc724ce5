# Makes mathematics.woff2 from STIXTwoMath-Regular.otf (STIX Two, version 2.13),
# which is licensed under OFL.txt: the characters of characters.txt with their
# growing pieces, and of the variants for scripts only those of the primes.
#
#   pip install fonttools brotli
#   python subset.py STIXTwoMath-Regular.otf
import subprocess
import sys
import tempfile

from fontTools.ttLib import TTFont

font = TTFont(sys.argv[1])
names = font.getBestCmap()
primes = {names[c] for c in (0x2032, 0x2033, 0x2034)}
table = font["GSUB"].table
for record in table.FeatureList.FeatureRecord:
    if record.FeatureTag != "ssty":
        continue
    for index in record.Feature.LookupListIndex:
        for sub in table.LookupList.Lookup[index].SubTable:
            sub = getattr(sub, "ExtSubTable", sub)
            for attribute in ("mapping", "alternates"):
                variants = getattr(sub, attribute, {})
                for glyph in list(variants):
                    if glyph not in primes:
                        del variants[glyph]
with tempfile.NamedTemporaryFile(suffix=".otf") as plain:
    font.save(plain.name)
    subprocess.run(["pyftsubset", plain.name, "--text-file=characters.txt", "--layout-features=ssty", "--no-hinting",
                    "--flavor=woff2", "--output-file=mathematics.woff2"], check=True)
