/* Writes a profile whose tags hold known values through Little CMS, for the
 * test that reads them back. Own work.
 * Usage: lcmswrite FILE VERSION */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <lcms2.h>

static cmsHPROFILE profile;

static void put(cmsTagSignature sig, const void *value)
{
    if (!cmsWriteTag(profile, sig, value)) {
        fprintf(stderr, "tag %08x was not written\n", sig);
        exit(1);
    }
}

static cmsMLU *text(const char *s)
{
    cmsMLU *m = cmsMLUalloc(NULL, 1);
    cmsMLUsetASCII(m, "en", "US", s);
    return m;
}

static void names(void)
{
    cmsUInt16Number white[3] = {0xff00, 0x8000, 0x8000}, rust[3] = {0x6000, 0xa000, 0x9000};
    cmsUInt16Number d0[cmsMAXCHANNELS] = {0xffff, 0xffff, 0xffff}, d1[cmsMAXCHANNELS] = {0x9000, 0x4000, 0x2000};
    cmsNAMEDCOLORLIST *list = cmsAllocNamedColorList(NULL, 2, 3, "House ", " matt");
    cmsAppendNamedColor(list, "White", white, d0);
    cmsAppendNamedColor(list, "Rust", rust, d1);
    put(cmsSigNamedColor2Tag, list);
    put(cmsSigColorantTableTag, list);
}

static void sequence(void)
{
    cmsSEQ *s = cmsAllocProfileSequenceDescription(NULL, 2);
    int i;
    for (i = 0; i < 2; i++) {
        cmsPSEQDESC *d = &s->seq[i];
        d->deviceMfg = 0x61616161 + i;
        d->deviceModel = 0x62626262;
        d->attributes = (cmsUInt64Number)i << 32 | 2;
        d->technology = cmsSigCRTDisplay;
        memset(d->ProfileID.ID8, i + 1, 16);
        d->Manufacturer = text(i ? "" : "A maker");
        d->Model = text("One model");
        d->Description = text(i ? "odd" : "even");
    }
    put(cmsSigProfileSequenceDescTag, s);
    put(cmsSigProfileSequenceIdTag, s);
}

static void conditions(void)
{
    cmsICCMeasurementConditions m = {1, {0.5, 1, 0.25}, 2, 0.5, cmsILLUMINANT_TYPE_D65};
    cmsICCViewingConditions v = {{96, 100, 82.5}, {19, 20, 16.5}, cmsILLUMINANT_TYPE_D50};
    cmsUInt8Number order[cmsMAXCHANNELS] = {2, 0, 1};
    memset(order + 3, 0xff, sizeof order - 3);
    put(cmsSigMeasurementTag, &m);
    put(cmsSigViewingConditionsTag, &v);
    put(cmsSigColorantOrderTag, order);
}

static void data(void)
{
    cmsICCData *d = calloc(1, sizeof *d + 3);
    d->len = 3;
    d->flag = 1;
    memcpy(d->data, "a\0\377", 3);
    put(cmsSigPs2CRD0Tag, d);
}

static void video(void)
{
    cmsUInt16Number rising[4] = {0, 0x1000, 0x8000, 0xffff};
    cmsToneCurve *c[3];
    c[0] = c[1] = c[2] = cmsBuildTabulatedToneCurve16(NULL, 4, rising);
    put(cmsSigVcgtTag, c);
}

/* Versions from 2.16 on know this private tag. */
static void calibration(void)
{
#if LCMS_VERSION >= 2160
    double curve[2] = {0, 1};
    cmsMHC2Type m = {2, curve, curve, curve, 0.25, 400, {{1, 0, 0, 0}, {0, 1, 0, 0}, {0, 0, 0.5, 0}}};
    put(cmsSigMHC2Tag, &m);
#endif
}

int main(int argc, char **argv)
{
    if (argc != 3) {
        fprintf(stderr, "usage: lcmswrite FILE VERSION\n");
        return 1;
    }
    profile = cmsCreateProfilePlaceholder(NULL);
    cmsSetProfileVersion(profile, atof(argv[2]));
    cmsSetDeviceClass(profile, cmsSigNamedColorClass);
    cmsSetColorSpace(profile, cmsSigRgbData);
    cmsSetPCS(profile, cmsSigLabData);
    names();
    sequence();
    conditions();
    data();
    video();
    calibration();
    if (!cmsSaveProfileToFile(profile, argv[1])) {
        fprintf(stderr, "%s was not written\n", argv[1]);
        return 1;
    }
    cmsCloseProfile(profile);
    return 0;
}
