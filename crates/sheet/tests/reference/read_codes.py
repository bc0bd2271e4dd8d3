"""Reads the QR codes of rendered prints with OpenCV, and the modules of the card's code.

    pip install opencv-python-headless
    cargo run -p faying-sheet --example print -- FOLDER
    python read_codes.py FOLDER > codes.txt   # full-size sheets carry no code; "many" is one card over and over

Needs pdftoppm (poppler-utils). Prints what it read on each page; of the first
page of card-a4.pdf it writes code.txt beside itself: the address as read, then
the modules as sampled from the rendering, dark ones as '#'.
"""
import pathlib, subprocess, sys
import cv2

folder, here = pathlib.Path(sys.argv[1]), pathlib.Path(__file__).parent
reader = cv2.QRCodeDetector()


def read(pdf, dpi):
    """Per page: addresses read, and the modules of the first code. OpenCV's finder misses codes at some scales."""
    stem = folder / (pdf.stem + "-read")
    subprocess.run(["pdftoppm", "-r", str(dpi), "-gray", "-png", pdf, stem], check=True)
    for png in sorted(folder.glob(pdf.stem + "-read-*.png")):
        image = cv2.imread(str(png))
        _, many, _, _ = reader.detectAndDecodeMulti(image)
        one, _, modules = reader.detectAndDecode(image)
        png.unlink()
        yield max([t for t in many if t], [one] if one else [], key=len), modules


for pdf in sorted(folder.glob("*.pdf")):
    if pdf.stem.startswith(("full", "many")):
        continue
    best = {}
    for dpi in (100, 150, 200, 300):
        for number, (texts, modules) in enumerate(read(pdf, dpi), 1):
            best[number] = max(best.get(number, []), texts, key=len)
            if pdf.stem == "card-a4" and number == 1 and dpi == 300:
                lines = ["".join("#" if value < 128 else "." for value in row) for row in modules]
                (here / "code.txt").write_text("\n".join([f"read by OpenCV as {texts[0]}", *lines]) + "\n")
    for number, texts in best.items():
        print(f"{pdf.name} page {number}: {len(texts)} codes, {', '.join(sorted(set(texts)))}".rstrip(", "))
