/* Prints what Little CMS reads from the tags of a profile, one line for each
 * fact, for the test that holds our writing against it. Own work.
 * Usage: lcmstags FILE */
#include <stdio.h>
#include <lcms2.h>

static cmsHPROFILE profile;

static void complain(cmsContext context, cmsUInt32Number code, const char *text)
{
    (void)context;
    printf("error %u %s\n", code, text);
}

/* A tag's value, or NULL after saying that it is not there or not readable. */
static void *tag(const char *name, cmsTagSignature sig)
{
    void *value = cmsIsTag(profile, sig) ? cmsReadTag(profile, sig) : NULL;
    if (value == NULL)
        printf("%s missing\n", name);
    return value;
}

static void text(const char *name, const cmsMLU *mlu)
{
    char out[256] = "";
    if (mlu != NULL)
        cmsMLUgetASCII(mlu, "en", "US", out, sizeof out);
    printf("%s [%s]\n", name, out);
}

static void names(const char *name, cmsTagSignature sig, int channels)
{
    cmsNAMEDCOLORLIST *list = tag(name, sig);
    cmsUInt32Number i;
    if (list == NULL)
        return;
    for (i = 0; i < cmsNamedColorCount(list); i++) {
        char root[256], prefix[33], suffix[33];
        cmsUInt16Number pcs[3], device[cmsMAXCHANNELS];
        int k;
        cmsNamedColorInfo(list, i, root, prefix, suffix, pcs, device);
        printf("%s [%s|%s|%s] %04x %04x %04x", name, channels ? prefix : "", root, channels ? suffix : "", pcs[0], pcs[1], pcs[2]);
        for (k = 0; k < channels; k++)
            printf(" %04x", device[k]);
        printf("\n");
    }
}

static void order(void)
{
    const cmsUInt8Number *v = tag("clro", cmsSigColorantOrderTag);
    int i;
    if (v == NULL)
        return;
    printf("clro");
    for (i = 0; i < cmsMAXCHANNELS && v[i] != 0xff; i++)
        printf(" %d", v[i]);
    printf("\n");
}

static void conditions(void)
{
    const cmsICCMeasurementConditions *m = tag("meas", cmsSigMeasurementTag);
    const cmsICCViewingConditions *v = tag("view", cmsSigViewingConditionsTag);
    if (m != NULL)
        printf("meas %u %.5f %.5f %.5f %u %.5f %u\n", m->Observer, m->Backing.X, m->Backing.Y, m->Backing.Z, m->Geometry, m->Flare, m->IlluminantType);
    if (v != NULL)
        printf("view %.5f %.5f %.5f %.5f %.5f %.5f %u\n", v->IlluminantXYZ.X, v->IlluminantXYZ.Y, v->IlluminantXYZ.Z,
               v->SurroundXYZ.X, v->SurroundXYZ.Y, v->SurroundXYZ.Z, v->IlluminantType);
}

static void sequence(void)
{
    const cmsSEQ *s = tag("pseq", cmsSigProfileSequenceDescTag);
    cmsUInt32Number i;
    int k;
    for (i = 0; s != NULL && i < s->n; i++) {
        const cmsPSEQDESC *d = &s->seq[i];
        printf("pseq %08x %08x %016llx %08x\n", d->deviceMfg, d->deviceModel, (unsigned long long)d->attributes, d->technology);
        text("pseq maker", d->Manufacturer);
        text("pseq model", d->Model);
    }
    s = tag("psid", cmsSigProfileSequenceIdTag);
    for (i = 0; s != NULL && i < s->n; i++) {
        printf("psid ");
        for (k = 0; k < 16; k++)
            printf("%02x", s->seq[i].ProfileID.ID8[k]);
        text("", s->seq[i].Description);
    }
}

static void data(void)
{
    const cmsICCData *d = tag("data", cmsSigPs2CRD0Tag);
    cmsUInt32Number i;
    if (d == NULL)
        return;
    printf("data %u", d->flag);
    for (i = 0; i < d->len; i++)
        printf(" %02x", d->data[i]);
    printf("\n");
}

static void video(void)
{
    cmsToneCurve **c = tag("vcgt", cmsSigVcgtTag);
    int i, k;
    for (i = 0; c != NULL && i < 3; i++) {
        printf("vcgt");
        for (k = 0; k <= 4; k++)
            printf(" %.4f", cmsEvalToneCurveFloat(c[i], (float)k / 4));
        printf("\n");
    }
}

int main(int argc, char **argv)
{
    cmsSetLogErrorHandler(complain);
    profile = argc == 2 ? cmsOpenProfileFromFile(argv[1], "r") : NULL;
    if (profile == NULL) {
        fprintf(stderr, "usage: lcmstags FILE, a profile\n");
        return 1;
    }
    order();
    names("clrt", cmsSigColorantTableTag, 0);
    names("clot", cmsSigColorantTableOutTag, 0);
    names("ncl2", cmsSigNamedColor2Tag, 3);
    conditions();
    sequence();
    data();
    video();
    cmsCloseProfile(profile);
    return 0;
}
