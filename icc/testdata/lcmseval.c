/* Colours through profiles by Little CMS, in double precision formats and
   without optimisation.
   usage: lcmseval INTENT BPC PROFILE... < colours
   A PROFILE is a file, *lab (of version 2, since Little CMS switches black point
   compensation on for perceptual links into version 4) or *xyz; a lone device link is possible. Colours are
   numbers, as many as channels, in the range of this library: device values 0
   to 1, L*a*b* and XYZ as they are. Output alike, 9 digits. */
#include <lcms2.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static cmsHPROFILE open_one(const char *name) {
    if (!strcmp(name, "*lab")) return cmsCreateLab2Profile(NULL);
    if (!strcmp(name, "*xyz")) return cmsCreateXYZProfile();
    return cmsOpenProfileFromFile(name, "r");
}

static cmsUInt32Number format(cmsColorSpaceSignature s) {
    return FLOAT_SH(1) | COLORSPACE_SH(_cmsLCMScolorSpace(s)) | CHANNELS_SH(cmsChannelsOf(s)) | BYTES_SH(0);
}

static double unit(cmsColorSpaceSignature s) {
    /* Little CMS counts ink from 0 to 100. */
    return s == cmsSigCmykData || s == cmsSigCmyData || (cmsChannelsOf(s) > 4) ? 100 : 1;
}

int main(int argc, char **argv) {
    cmsHPROFILE p[16];
    int n = argc - 3, intent = atoi(argv[1]), i;
    if (n < 1 || n > 16) return 2;
    for (i = 0; i < n; i++)
        if (!(p[i] = open_one(argv[3 + i]))) { fprintf(stderr, "cannot open %s\n", argv[3 + i]); return 1; }
    cmsColorSpaceSignature in = cmsGetColorSpace(p[0]), out = cmsGetColorSpace(p[n - 1]);
    if (cmsGetDeviceClass(p[n - 1]) == cmsSigLinkClass) out = cmsGetPCS(p[n - 1]);
    cmsUInt32Number flags = cmsFLAGS_NOOPTIMIZE | cmsFLAGS_NOCACHE;
    if (atoi(argv[2])) flags |= cmsFLAGS_BLACKPOINTCOMPENSATION;
    cmsHTRANSFORM t = n == 1 ? cmsCreateTransform(p[0], format(in), NULL, format(out), intent, flags)
                             : cmsCreateMultiprofileTransform(p, n, format(in), format(out), intent, flags);
    if (!t) { fprintf(stderr, "no transform\n"); return 1; }
    int k = cmsChannelsOf(in), m = cmsChannelsOf(out);
    double a[16], b[16];
    for (;;) {
        for (i = 0; i < k; i++) if (scanf("%lf", a + i) != 1) return 0;
        for (i = 0; i < k; i++) a[i] *= unit(in);
        cmsDoTransform(t, a, b, 1);
        for (i = 0; i < m; i++) printf("%.9g%c", b[i] / unit(out), i + 1 < m ? ' ' : '\n');
    }
}
