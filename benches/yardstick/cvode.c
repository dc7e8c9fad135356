/* The workload W2 under SUNDIALS CVODE: a year of ADM1 with one dose a day.
 *
 * Equations: Batstone et al. 2002 (IWA Scientific and Technical Report 13) in the setting of Rosen and Jeppsson 2006;
 * gas leaves through a pipe in proportion to its over-pressure. pH is solved inside the right-hand side by Newton in
 * ln(H) from its last value. Hydrogen is an ordinary state, or (HYDROGEN = quasi) stands at the
 * balance of its making and its use, which frees the integrator from its turnover of seconds. BDF, dense matrix, exact Jacobian by hand, restart at each
 * dose. Usage: cvode START RTOL ATOL REPEATS HYDROGEN (ATOL multiplies the
 * file's absolute tolerances) > "ms steps" (processor time) line and one line "acetate propionate" for each day.
 */
#include <cvode/cvode.h>
#include <math.h>
#include <nvector/nvector_serial.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sunlinsol/sunlinsol_dense.h>
#include <sunmatrix/sunmatrix_dense.h>
#include <time.h>

enum { SU, AA, FA, VA, BU, PRO, AC, H2, CH4, IC, IN, SI, XC, CH, PR, LI, XSU, XAA, XFA, XC4, XPRO, XAC, XH2, XI, CAT, AN,
       COMPONENTS, GH2 = COMPONENTS, GCH4, GCO2, GAIR, STATES };
enum { DIS, HCH, HPR, HLI, USU, UAA, UFA, UVA, UBU, UPRO, UAC, UH2, DECAY, PROCESSES = DECAY + 7 };

#define R_GAS 8.3145      /* J/mol/K, as the publication has it */
#define R_BAR 0.08314462618 /* m3 bar/kmol/K */
#define T25 298.15

/* Carbon and nitrogen of the components in kmol per kg COD (per kmol for IC and IN). */
static const double carbon[COMPONENTS] = {
    [SU] = .0313, [AA] = .03, [FA] = .0217, [VA] = .024, [BU] = .025, [PRO] = .0268, [AC] = .0313, [CH4] = .0156,
    [IC] = 1, [SI] = .03, [XC] = .02786, [CH] = .0313, [PR] = .03, [LI] = .022, [XSU] = .0313, [XAA] = .0313,
    [XFA] = .0313, [XC4] = .0313, [XPRO] = .0313, [XAC] = .0313, [XH2] = .0313, [XI] = .03};
static const double nitrogen[COMPONENTS] = {
    [AA] = .007, [IN] = 1, [SI] = .06 / 14, [XC] = .0376 / 14, [PR] = .007, [XSU] = .08 / 14, [XAA] = .08 / 14,
    [XFA] = .08 / 14, [XC4] = .08 / 14, [XPRO] = .08 / 14, [XAC] = .08 / 14, [XH2] = .08 / 14, [XI] = .06 / 14};

/* An uptake: substrate, living group, yield, k_m, K_S, hydrogen inhibition (0: none), pH band. */
typedef struct { int s, x; double y, km, ks, kh2; int band; } Uptake;
static const Uptake uptake[8] = {
    {SU, XSU, .10, 30, .5, 0, 0},    {AA, XAA, .08, 50, .3, 0, 0},       {FA, XFA, .06, 6, .4, 5e-6, 0},
    {VA, XC4, .06, 20, .2, 1e-5, 0}, {BU, XC4, .06, 20, .2, 1e-5, 0},    {PRO, XPRO, .04, 13, .1, 3.5e-6, 0},
    {AC, XAC, .05, 8, .15, 0, 1},    {H2, XH2, .06, 35, 7e-6, 0, 2}};
static const double ph_low[3] = {4, 6, 5}, ph_high[3] = {5.5, 7, 6};
#define KS_IN 1e-4
#define KI_NH3 0.0018
#define SHARE_FLOOR 1e-6 /* Rosen and Jeppsson: keeps valerate's share finite */

typedef struct { int i; double v; } Entry;
static Entry row[PROCESSES][12];
static int entries[PROCESSES];
static double made_h2[8]; /* hydrogen from a unit of each uptake */

/* What the run is about, read from the file. */
static double liquid, gas, pipe_d_bar, back, ambient, kla, mean_c, swing, hottest, days, dose_m3;
static double start[STATES], dose[COMPONENTS], atol_of[STATES];

static int quasi;
static double band_k[3], band_n[3];

static void add(int p, int i, double v) { row[p][entries[p]++] = (Entry){i, v}; }

static void close_row(int p) {
    double c = 0, n = 0;
    for (int e = 0; e < entries[p]; e++) {
        c += row[p][e].v * carbon[row[p][e].i];
        n += row[p][e].v * nitrogen[row[p][e].i];
    }
    if (fabs(c) > 1e-15) add(p, IC, -c);
    if (fabs(n) > 1e-15) add(p, IN, -n);
}

static void build(void) {
    add(DIS, XC, -1); add(DIS, SI, .1); add(DIS, XI, .2); add(DIS, CH, .2); add(DIS, PR, .2); add(DIS, LI, .3);
    add(HCH, CH, -1); add(HCH, SU, 1);
    add(HPR, PR, -1); add(HPR, AA, 1);
    add(HLI, LI, -1); add(HLI, FA, .95); add(HLI, SU, .05);
    const Entry products[8][5] = {
        {{BU, .13}, {PRO, .27}, {AC, .41}, {H2, .19}}, {{VA, .23}, {BU, .26}, {PRO, .05}, {AC, .40}, {H2, .06}},
        {{AC, .7}, {H2, .3}}, {{PRO, .54}, {AC, .31}, {H2, .15}}, {{AC, .8}, {H2, .2}}, {{AC, .57}, {H2, .43}},
        {{CH4, 1}}, {{CH4, 1}}};
    for (int u = 0; u < 8; u++) {
        for (int k = 0; k < 5; k++)
            if (products[u][k].i == H2 && products[u][k].v > 0) made_h2[u] = products[u][k].v * (1 - uptake[u].y);
        add(USU + u, uptake[u].s, -1);
        add(USU + u, uptake[u].x, uptake[u].y);
        for (int k = 0; k < 5; k++)
            if (products[u][k].v > 0) add(USU + u, products[u][k].i, products[u][k].v * (1 - uptake[u].y));
    }
    for (int x = 0; x < 7; x++) { add(DECAY + x, XSU + x, -1); add(DECAY + x, XC, 1); }
    for (int p = 0; p < PROCESSES; p++) close_row(p);
    for (int b = 0; b < 3; b++) {
        band_n[b] = 3 / (ph_high[b] - ph_low[b]);
        band_k[b] = -.5 * M_LN10 * (ph_high[b] + ph_low[b]);
    }
}

/* Everything that hangs on temperature; kept while time stands still between Newton's iterations. */
typedef struct { double t, kelvin, kw, kc, kn, ka, kp, kb, kv, h_h2, h_ch4, h_co2, vapour; } Props;
static Props props = {.t = -1};

static void properties(double t) {
    if (props.t == t) return;
    double c = mean_c + swing * cos(2 * M_PI / 365.25 * (t - hottest)), T = c + 273.15;
    double f = (1 / T25 - 1 / T) / R_GAS;
    props = (Props){t, T, 1e-14 * exp(55900 * f), pow(10, -6.35) * exp(7646 * f), pow(10, -9.25) * exp(51965 * f),
        pow(10, -4.76), pow(10, -4.88), pow(10, -4.82), pow(10, -4.86), 7.8e-4 * exp(-4180 * f),
        1.4e-3 * exp(-14240 * f), 3.5e-2 * exp(-19410 * f), .0313 * exp(5290 * (1 / T25 - 1 / T))};
}

/* ln(H), and the slope of the charge balance by it. */
static double x_last = -16.1;
static double charge(const double *y, double x, double *slope) {
    const Props *p = &props;
    double h = exp(x), nh4 = h / (p->kn + h), oh = p->kw / h;
    double total = y[CAT] - y[AN] + h - oh + y[IN] * nh4, s = h + oh + y[IN] * nh4 * (1 - nh4);
    const double k[5] = {p->kc, p->ka, p->kp, p->kb, p->kv};
    const double c[5] = {y[IC], y[AC] / 64, y[PRO] / 112, y[BU] / 160, y[VA] / 208};
    for (int i = 0; i < 5; i++) {
        double a = k[i] / (k[i] + h);
        total -= c[i] * a;
        s += c[i] * a * (1 - a);
    }
    *slope = s;
    return total;
}
static double solve_ph(const double *y, double *slope) {
    double x = x_last;
    for (int k = 0; k < 50; k++) {
        double step = -charge(y, x, slope) / *slope;
        if (step > 2) step = 2;
        if (step < -2) step = -2;
        x += step;
        if (fabs(step) < 1e-12) break;
    }
    charge(y, x, slope);
    return x_last = x;
}

/* Outlet: the over-pressure where it is above zero, its corner rounded by 0.1 Pa. */
static double outlet(double over, double *slope) {
    double root = sqrt(over * over + 1e-12), sum = over > 0 ? over + root : 1e-12 / (root - over);
    *slope = .5 * sum / root;
    return .5 * sum;
}

/* Factors of the uptakes; slopes only for the Jacobian. */
static void ph_factors(double x, double *f, double *df) {
    for (int b = 0; b < 3; b++) {
        double z = 1 / (1 + exp(band_n[b] * (x - band_k[b])));
        f[b] = z;
        df[b] = -band_n[b] * z * (1 - z);
    }
}

/* Hydrogen at which making, use and transfer balance, by Newton from its last value; rates are still without their
 * factors of hydrogen. What is made falls and what is used grows with hydrogen, so there is one such value. */
static double h2_last = 1e-8;
static double hydrogen(const double *rate, double leaves, double enters) {
    double h = h2_last, low = 0, high = 1e3;
    for (int k = 0; k < 100; k++) {
        double ks = uptake[7].ks, f = enters - leaves * h - rate[UH2] * h / (ks + h);
        double slope = -leaves - rate[UH2] * ks / ((ks + h) * (ks + h));
        for (int u = 0; u < 7; u++) {
            double ki = uptake[u].kh2, made = made_h2[u] * rate[USU + u];
            f += ki > 0 ? made * ki / (ki + h) : made;
            if (ki > 0) slope -= made * ki / ((ki + h) * (ki + h));
        }
        if (f > 0) low = h; else high = h;
        double next = h - f / slope;
        if (!(next > low && next < high)) next = .5 * (low + high);
        double step = fabs(next - h);
        h = next;
        if (step <= 1e-13 * h) break;
    }
    return h;
}

static int rhs(realtype t, N_Vector yv, N_Vector dv, void *data) {
    (void)data;
    const double *y = N_VGetArrayPointer(yv);
    double *d = N_VGetArrayPointer(dv), slope, f[3], df[3], rate[PROCESSES];
    properties(t);
    double x = solve_ph(y, &slope), h = exp(x);
    ph_factors(x, f, df);
    double starving = y[IN] / (KS_IN + y[IN]), nh3 = y[IN] * props.kn / (props.kn + h);
    rate[DIS] = .5 * y[XC];
    rate[HCH] = 10 * y[CH];
    rate[HPR] = 10 * y[PR];
    rate[HLI] = 10 * y[LI];
    for (int u = 0; u < 8; u++) {
        const Uptake *k = &uptake[u];
        double r = k->km * y[k->s] / (k->ks + y[k->s]) * y[k->x] * starving * f[k->band];
        if (k->s == H2) r = k->km * y[k->x] * starving * f[k->band];
        if (k->s == AC) r *= KI_NH3 / (KI_NH3 + nh3);
        rate[USU + u] = r;
    }
    double both = y[VA] + y[BU] + SHARE_FLOOR;
    rate[UVA] *= y[VA] / both;
    rate[UBU] *= y[BU] / both;
    double rtv = R_BAR * props.kelvin / gas, h2 = y[H2];
    if (quasi) h2 = h2_last = hydrogen(rate, kla, 16 * kla * props.h_h2 * y[GH2] * rtv);
    for (int u = 0; u < 8; u++)
        if (uptake[u].kh2 > 0) rate[USU + u] *= uptake[u].kh2 / (uptake[u].kh2 + h2);
    rate[UH2] *= h2 / (uptake[7].ks + h2);
    for (int g = 0; g < 7; g++) rate[DECAY + g] = .02 * y[XSU + g];
    memset(d, 0, sizeof(double) * STATES);
    for (int p = 0; p < PROCESSES; p++)
        for (int e = 0; e < entries[p]; e++) d[row[p][e].i] += row[p][e].v * rate[p];
    double open, pressure = (y[GH2] + y[GCH4] + y[GCO2] + y[GAIR]) * rtv + props.vapour;
    double out = pipe_d_bar * outlet(pressure - ambient - back, &open) / gas;
    double flux[3] = {kla * (h2 / 16 - props.h_h2 * y[GH2] * rtv), kla * (y[CH4] / 64 - props.h_ch4 * y[GCH4] * rtv),
        kla * (y[IC] * h / (props.kc + h) - props.h_co2 * y[GCO2] * rtv)};
    d[H2] -= 16 * flux[0];
    d[CH4] -= 64 * flux[1];
    d[IC] -= flux[2];
    for (int g = 0; g < 4; g++) d[GH2 + g] = (g < 3 ? liquid * flux[g] : 0) - y[GH2 + g] * out;
    if (quasi) d[H2] = 0;
    return 0;
}

static int jacobian(realtype t, N_Vector yv, N_Vector dv, SUNMatrix J, void *data, N_Vector a, N_Vector b, N_Vector c) {
    (void)dv, (void)data, (void)a, (void)b, (void)c;
    double slope, f[3], df[3], by_x[STATES] = {0}, dx[STATES] = {0}, kept[STATES];
    const double *y = kept;
    memcpy(kept, N_VGetArrayPointer(yv), sizeof kept);
    if (quasi) {
        rhs(t, yv, a, 0); /* finds hydrogen */
        kept[H2] = h2_last;
    }
    SUNMatZero(J);
    properties(t);
    double x = solve_ph(y, &slope), h = exp(x);
    ph_factors(x, f, df);
    /* d ln(H) / d state, from the charge balance. */
    dx[CAT] = -1 / slope;
    dx[AN] = 1 / slope;
    dx[IN] = -h / (props.kn + h) / slope;
    dx[IC] = props.kc / (props.kc + h) / slope;
    dx[AC] = props.ka / (props.ka + h) / 64 / slope;
    dx[PRO] = props.kp / (props.kp + h) / 112 / slope;
    dx[BU] = props.kb / (props.kb + h) / 160 / slope;
    dx[VA] = props.kv / (props.kv + h) / 208 / slope;
#define PUT(p, j, slope_) do { double v_ = (slope_); for (int e = 0; e < entries[p]; e++) \
        SM_ELEMENT_D(J, row[p][e].i, j) += row[p][e].v * v_; } while (0)
    PUT(DIS, XC, .5); PUT(HCH, CH, 10); PUT(HPR, PR, 10); PUT(HLI, LI, 10);
    for (int g = 0; g < 7; g++) PUT(DECAY + g, XSU + g, .02);
    double share = props.kn / (props.kn + h), nh3 = y[IN] * share, both = y[VA] + y[BU] + SHARE_FLOOR;
    for (int u = 0; u < 8; u++) {
        const Uptake *k = &uptake[u];
        int p = USU + u;
        double monod = y[k->s] / (k->ks + y[k->s]), dmonod = k->ks / ((k->ks + y[k->s]) * (k->ks + y[k->s]));
        double in = y[IN] / (KS_IN + y[IN]), din = KS_IN / ((KS_IN + y[IN]) * (KS_IN + y[IN]));
        double ih = k->kh2 > 0 ? k->kh2 / (k->kh2 + y[H2]) : 1, dih = k->kh2 > 0 ? -ih / (k->kh2 + y[H2]) : 0;
        double ia = k->s == AC ? KI_NH3 / (KI_NH3 + nh3) : 1, dia = k->s == AC ? -ia / (KI_NH3 + nh3) : 0;
        int other = k->s == VA ? BU : k->s == BU ? VA : -1;
        double part = other < 0 ? 1 : y[k->s] / both, ip = f[k->band], X = y[k->x], m = k->km;
        PUT(p, k->x, m * monod * in * ih * ia * part * ip);
        PUT(p, k->s, m * X * in * ih * ia * ip * (dmonod * part + (other < 0 ? 0 : monod * (both - y[k->s]) / (both * both))));
        if (other >= 0) PUT(p, other, -m * X * in * ih * ia * ip * monod * y[k->s] / (both * both));
        PUT(p, IN, m * X * monod * ih * part * ip * (din * ia + in * dia * share));
        if (k->kh2 > 0) PUT(p, H2, m * X * monod * in * dih * ia * part * ip);
        double rx = m * X * monod * in * ih * part * (ia * df[k->band] + ip * dia * -nh3 * (1 - share));
        for (int e = 0; e < entries[p]; e++) by_x[row[p][e].i] += row[p][e].v * rx;
    }
    double rtv = R_BAR * props.kelvin / gas, open;
    double pressure = (y[GH2] + y[GCH4] + y[GCO2] + y[GAIR]) * rtv + props.vapour;
    double out = pipe_d_bar * outlet(pressure - ambient - back, &open) / gas;
    const int in_liquor[3] = {H2, CH4, IC};
    const double per_kmol[3] = {16, 64, 1}, henry[3] = {props.h_h2, props.h_ch4, props.h_co2};
    double co2 = h / (props.kc + h);
    for (int g = 0; g < 4; g++) {
        if (g < 3) {
            double dc = kla * (g == 2 ? co2 : 1 / per_kmol[g]), dn = -kla * henry[g] * rtv;
            SM_ELEMENT_D(J, in_liquor[g], in_liquor[g]) -= per_kmol[g] * dc;
            SM_ELEMENT_D(J, in_liquor[g], GH2 + g) -= per_kmol[g] * dn;
            SM_ELEMENT_D(J, GH2 + g, in_liquor[g]) += liquid * dc;
            SM_ELEMENT_D(J, GH2 + g, GH2 + g) += liquid * dn;
        }
        SM_ELEMENT_D(J, GH2 + g, GH2 + g) -= out;
        for (int o = 0; o < 4; o++) SM_ELEMENT_D(J, GH2 + g, GH2 + o) -= y[GH2 + g] * pipe_d_bar * open * rtv / gas;
    }
    double flux_x = kla * y[IC] * co2 * (1 - co2);
    by_x[IC] -= flux_x;
    by_x[GCO2] += liquid * flux_x;
    for (int j = 0; j < STATES; j++)
        if (dx[j] != 0)
            for (int i = 0; i < STATES; i++) SM_ELEMENT_D(J, i, j) += by_x[i] * dx[j];
    if (!quasi) return 0;
    /* Hydrogen's balance holds at every state: what it follows from takes its place. */
    double own = SM_ELEMENT_D(J, H2, H2);
    for (int j = 0; j < STATES; j++) {
        double follows = j == H2 ? 0 : -SM_ELEMENT_D(J, H2, j) / own;
        if (follows == 0) continue;
        for (int i = 0; i < STATES; i++)
            if (i != H2) SM_ELEMENT_D(J, i, j) += SM_ELEMENT_D(J, i, H2) * follows;
    }
    for (int k = 0; k < STATES; k++) SM_ELEMENT_D(J, H2, k) = SM_ELEMENT_D(J, k, H2) = 0;
    return 0;
}

/* Largest difference between the Jacobian and central differences, in units of its largest entry by row. */
static double jacobian_error(SUNContext context) {
    N_Vector y = N_VNew_Serial(STATES, context), up = N_VNew_Serial(STATES, context), down = N_VNew_Serial(STATES, context);
    SUNMatrix J = SUNDenseMatrix(STATES, STATES, context);
    double *v = N_VGetArrayPointer(y), worst = 0;
    for (int i = 0; i < STATES; i++) v[i] = start[i] > 0 ? start[i] : 1e-3;
    v[H2] = 3e-7, v[GH2] = 1e-6, v[GCH4] = .004, v[GCO2] = .0035;
    jacobian(100, y, up, J, 0, down, up, up);
    for (int j = 0; j < STATES; j++) {
        double kept = v[j], step = 1e-5 * fabs(kept);
        v[j] = kept + step, rhs(100, y, up, 0);
        v[j] = kept - step, rhs(100, y, down, 0);
        v[j] = kept;
        for (int i = 0; i < STATES; i++) {
            double largest = 0;
            for (int k = 0; k < STATES; k++) largest = fmax(largest, fabs(SM_ELEMENT_D(J, i, k) * v[k]));
            double found = (N_VGetArrayPointer(up)[i] - N_VGetArrayPointer(down)[i]) / (2 * step);
            if (largest > 0) worst = fmax(worst, fabs(found - SM_ELEMENT_D(J, i, j)) * fabs(v[j]) / largest);
        }
    }
    N_VDestroy(y), N_VDestroy(up), N_VDestroy(down), SUNMatDestroy(J);
    return worst;
}

static void must(int ok, const char *what) {
    if (!ok) { fprintf(stderr, "cvode: %s\n", what); exit(1); }
}

static void read_start(const char *path) {
    FILE *file = fopen(path, "r");
    must(file != 0, "the start cannot be read");
    double *head[11] = {&liquid, &gas, &pipe_d_bar, &back, &ambient, &kla, &mean_c, &swing, &hottest, &days, &dose_m3};
    int ok = 1;
    for (int i = 0; i < 11; i++) ok &= fscanf(file, "%lf", head[i]) == 1;
    for (int i = 0; i < STATES; i++) ok &= fscanf(file, "%lf", &start[i]) == 1;
    for (int i = 0; i < COMPONENTS; i++) ok &= fscanf(file, "%lf", &dose[i]) == 1;
    for (int i = 0; i < STATES; i++) ok &= fscanf(file, "%lf", &atol_of[i]) == 1;
    fclose(file);
    must(ok, "the start is too short");
}

int main(int count, char **words) {
    must(count == 6, "usage: cvode START RTOL ATOL REPEATS HYDROGEN");
    read_start(words[1]);
    build();
    double rtol = atof(words[2]), best = INFINITY;
    double scale = atof(words[3]);
    int repeats = atoi(words[4]), total = (int)days;
    SUNContext context;
    quasi = !strcmp(words[5], "quasi");
    must(!SUNContext_Create(NULL, &context), "no context");
    fprintf(stderr, "cvode: Jacobian against differences: %.1e\n", jacobian_error(context));
    N_Vector y = N_VNew_Serial(STATES, context), atol_v = N_VNew_Serial(STATES, context);
    double *v = N_VGetArrayPointer(y), *ends = malloc(sizeof(double) * 2 * total);
    for (int i = 0; i < STATES; i++) N_VGetArrayPointer(atol_v)[i] = atol_of[i] * scale;
    SUNMatrix matrix = SUNDenseMatrix(STATES, STATES, context);
    SUNLinearSolver solver = SUNLinSol_Dense(y, matrix, context);
    long steps = 0;
    for (int r = 0; r < repeats; r++) {
        struct timespec from, to;
        clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &from);
        memcpy(v, start, sizeof start);
        props.t = -1, x_last = -16.1, h2_last = 1e-8;
        steps = 0;
        void *cvode = CVodeCreate(CV_BDF, context);
        must(!CVodeInit(cvode, rhs, 0, y) && !CVodeSVtolerances(cvode, rtol, atol_v)
            && !CVodeSetLinearSolver(cvode, solver, matrix) && !CVodeSetJacFn(cvode, jacobian)
            && !CVodeSetMaxNumSteps(cvode, 1000000), "setting up");
        for (int day = 0; day < total; day++) {
            for (int i = 0; i < COMPONENTS; i++) v[i] = (v[i] * liquid + dose[i]) / (liquid + dose_m3);
            realtype t;
            must(!CVodeReInit(cvode, day, y) && !CVodeSetStopTime(cvode, day + 1), "restarting");
            must(CVode(cvode, day + 1, y, &t, CV_NORMAL) >= 0, "a day failed");
            ends[2 * day] = v[AC], ends[2 * day + 1] = v[PRO];
            long now;
            CVodeGetNumSteps(cvode, &now);
            steps += now;
        }
        CVodeFree(&cvode);
        clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &to);
        best = fmin(best, 1e3 * (to.tv_sec - from.tv_sec) + 1e-6 * (to.tv_nsec - from.tv_nsec));
    }
    printf("%.6f %ld\n", best, steps);
    for (int day = 0; day < total; day++) printf("%.17g %.17g\n", ends[2 * day], ends[2 * day + 1]);
    return 0;
}
