# Writes crosscheck_colorspacious.csv: random colours held against Debian's
# python3-colorspacious 1.1.2. Run: python3 crosscheck.py FOLDER
import random
import sys

import colorspacious

random.seed(7)
whites = [(109.85, 100, 35.585), (96.422, 100, 82.521), (95.047, 100, 108.883), (94.811, 100, 107.304)]
with open(sys.argv[1] + "/crosscheck_colorspacious.csv", "w") as out:
    out.write("# Random colours (Y = 100): xyY, CIELAB under four whites and its LCh. Source: colorspacious 1.1.2, by crosscheck.py.\n")
    out.write("Xw,Yw,Zw,X,Y,Z,x,y,L,a,b,C,h\n")
    for i in range(600):
        white = whites[i % 4]
        top = 1 if i % 3 else 0.02
        xyz = [random.random() * w * top for w in white]
        space = {"name": "CIELab", "XYZ100_w": white}
        lab = colorspacious.cspace_convert(xyz, "XYZ100", space)
        lch = colorspacious.cspace_convert(xyz, "XYZ100", {"name": "CIELCh", "XYZ100_w": white})
        xyy = colorspacious.cspace_convert(xyz, "XYZ100", "xyY100")
        row = list(white) + list(xyz) + list(xyy[:2]) + list(lab) + list(lch[1:])
        out.write(",".join("%.12g" % v for v in row) + "\n")
