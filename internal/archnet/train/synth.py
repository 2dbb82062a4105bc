"""Synthetic height pictures of dental arches with their teeth, made on the GPU.

A picture is what an arch shows when looked at along the occlusal direction: one height a pixel,
z towards the viewer. Everything is drawn from handbook sizes (mesiodistal, buccolingual, crown length)
and wide random ranges; no scan of a person enters.
Frame: x' to one side, y' posterior, mm.
"""
import math, torch
import torch.nn.functional as F

N, PX = 160, 0.5          # pixels a side, mm a pixel
T = 16                    # teeth: index t = side*8 + (k-1)
MD = {'U': [8.5, 6.5, 7.5, 7.0, 7.0, 10.0, 9.0, 8.5], 'L': [5.0, 5.5, 7.0, 7.0, 7.0, 11.0, 10.5, 10.0]}
BL = {'U': [7.0, 6.0, 8.0, 9.0, 9.0, 11.0, 11.0, 10.0], 'L': [6.0, 6.5, 7.5, 7.5, 8.0, 10.5, 10.0, 9.5]}
CH = {'U': [10.5, 9.0, 10.0, 8.5, 8.5, 7.5, 7.0, 6.5], 'L': [9.0, 9.5, 11.0, 8.5, 8.0, 7.5, 7.0, 7.0]}


def smooth_noise(B, n, cells, amp, dev, g):
    z = torch.randn(B, 1, cells, cells, device=dev, generator=g)
    return F.interpolate(z, size=(n, n), mode='bicubic', align_corners=True)[:, 0] * amp


def batch(B, dev, g):
    U = lambda lo, hi, *s: lo + (hi - lo) * torch.rand(*(s or (B,)), device=dev, generator=g)
    R = lambda mu, sd, *s: mu + sd * torch.randn(*(s or (B,)), device=dev, generator=g)
    chance = lambda p, *s: torch.rand(*(s or (B,)), device=dev, generator=g) < p
    jaw = chance(0.5)                                    # True: upper
    tab = lambda D: torch.where(jaw[:, None], torch.tensor(D['U'] * 2, device=dev), torch.tensor(D['L'] * 2, device=dev))
    scale = R(1.0, 0.06)[:, None].clamp(0.82, 1.18)
    md = tab(MD) * scale * R(1, 0.06, B, 8).repeat(1, 2) * R(1, 0.02, B, T)
    bl = tab(BL) * scale * R(1, 0.06, B, 8).repeat(1, 2) * R(1, 0.02, B, T)
    grow = tab({'U': [1.32, 1.45, 1.22, 1.15, 1.12, 1.08, 1.08, 1.0], 'L': [1.26, 1.18, 1.12, 1.14, 1.13, 1.06, 1.04, 1.0]}); md = md * 1.03; bl = bl * grow * R(1, .05, B, 8).repeat(1, 2)
    ch = tab(CH) * scale * R(0.85, 0.12, B, 8).repeat(1, 2).clamp(0.5, 1.15)
    k = torch.arange(8, device=dev).repeat(2)
    side = torch.tensor([-1.0] * 8 + [1.0] * 8, device=dev)
    # who stands in the row
    present = torch.ones(B, T, dtype=torch.bool, device=dev)
    third = chance(0.30)[:, None] & chance(0.75, B, T)
    present &= torch.where(k == 7, third, torch.ones_like(third))
    gap = chance(0.35)[:, None] & chance(0.12, B, T) & (k > 2)
    closed = chance(0.35, B, T)                          # the space of a missing tooth has closed
    prem = chance(0.06)[:, None] & (k == 3)              # first premolars taken out, closed
    second = chance(0.10)[:, None] & chance(0.6, B, T) & (k == 6)
    present &= ~gap & ~prem & ~second
    takes = md * torch.where(present, torch.ones_like(md), torch.where(closed | prem, U(0, .25, B, T), U(0.4, 1.1, B, T)))
    takes = torch.where((k == 7) & ~present, torch.zeros_like(md), takes)
    takes = takes * U(0.93, 1.03)[:, None] + torch.where(chance(0.15)[:, None], U(0, .8, B, T), R(0, .08, B, T))
    takes = takes.clamp_min(0.2)
    s = torch.zeros(B, T, device=dev)
    for h in (0, 8):
        c = torch.cumsum(takes[:, h:h + 8], 1)
        s[:, h:h + 8] = c - takes[:, h:h + 8] / 2
    s = s + R(0, .25, B)[:, None] * side                 # midline off
    # the curve of the arch, each side by itself: y = d (|x|/w)^p
    P = 160
    base_w = torch.where(jaw, R(27, 2.6), R(25.2, 2.5)) * scale[:, 0]
    base_d = R(38, 4) * scale[:, 0]; base_p = torch.where(jaw, U(2.3, 4.4), U(2.0, 3.9)); base_p = torch.where(chance(.15), U(1.8, 2.6), base_p)
    cw, cd, cpw = [], [], []; curve = torch.zeros(B, 2, P, 2, device=dev); arc = torch.zeros(B, 2, P, device=dev)
    u = torch.linspace(0, 1.25, P, device=dev) ** 1.0
    for h in (0, 1):
        w = base_w * R(1, .03); d = base_d * R(1, .03); p = base_p * R(1, .04); cw.append(w); cd.append(d); cpw.append(p)
        # even steps near the midline and behind: walk by angle
        th = u * math.pi / 2 * 0.8
        x = w[:, None] * 1.12 * torch.sin(th.clamp_max(math.pi / 2))
        y = d[:, None] * (x / w[:, None]).pow(p[:, None])
        # behind, straight on
        sx = -1.0 if h == 0 else 1.0
        curve[:, h, :, 0] = sx * x; curve[:, h, :, 1] = y
        seg = torch.sqrt((x[:, 1:] - x[:, :-1]) ** 2 + (y[:, 1:] - y[:, :-1]) ** 2 + 1e-9)
        arc[:, h, 1:] = torch.cumsum(seg, 1)
    def at(sq, h):
        """point and tangent at arc length sq (B, M) of side h; beyond the end straight on"""
        a = arc[:, h].contiguous(); i = torch.searchsorted(a, sq.abs().contiguous()).clamp(1, P - 1)
        g0 = a.gather(1, i - 1); g1 = a.gather(1, i); f = (sq.abs() - g0) / (g1 - g0 + 1e-6)
        p0 = curve[:, h].gather(1, (i - 1)[..., None].expand(-1, -1, 2)); p1 = curve[:, h].gather(1, i[..., None].expand(-1, -1, 2))
        t = p1 - p0; t = t / (t.norm(dim=-1, keepdim=True) + 1e-6)
        pt = p0 + f[..., None] * (p1 - p0)
        return pt, t
    pts, tan = [], []
    for h in (0, 1):
        p_, t_ = at(s[:, 8 * h:8 * h + 8], h); pts.append(p_); tan.append(t_)
    c = torch.cat(pts, 1); tg = torch.cat(tan, 1)        # (B,T,2), tangent distal
    nb = torch.stack([tg[..., 1] * side, -tg[..., 0] * side], -1)  # buccal: outwards
    crowd = U(0, 1.0)[:, None] ** 2
    off = R(0, 1.0, B, T) * crowd * torch.where(k < 5, 1.4, 0.6) * torch.where(chance(.5)[:, None], 1.0, .25)
    c = c + nb * off[..., None] + tg * (R(0, .3, B, T) * crowd)[..., None]
    rot = R(0, 1, B, T) * (3 + 14 * crowd) * math.pi / 180
    rot = rot + torch.where(chance(.03, B, T), R(0, .7, B, T), torch.zeros_like(rot))
    co, si = torch.cos(rot), torch.sin(rot)
    ax_m = tg * co[..., None] + nb * si[..., None]; ax_b = nb * co[..., None] - tg * si[..., None]
    # curve of Spee, heights, eruption
    spee = U(-1.0, 3.0)[:, None] * ((c[..., 1] - 20) / 20) ** 2 * torch.where(jaw, -1., 1.)[:, None]
    top = spee + R(0, .3, B, T) - torch.where(chance(.06, B, T), U(0, 3, B, T), torch.zeros(B, T, device=dev))
    top = top - torch.where((k == 7) & chance(.6, B, T), U(0, 4.5, B, T), torch.zeros(B, T, device=dev))
    top = top + torch.where(k == 2, U(0, 1., B)[:, None], torch.zeros(B, T, device=dev)) - torch.where((k == 1), U(0, .9, B)[:, None], torch.zeros(B, T, device=dev))
    tilt_m, tilt_b = R(0, .10, B, T), R(0, .10, B, T)
    # pixels: picture frame -> arch frame (turn, shift, smooth warp)
    ar = (torch.arange(N, device=dev) + 0.5 - N / 2) * PX
    gy, gx = torch.meshgrid(ar, ar, indexing='ij'); gx = gx.expand(B, N, N); gy = gy.expand(B, N, N)
    turn = torch.where(chance(0.6), R(0, 8) * math.pi / 180, U(-math.pi, math.pi))
    ct, st = torch.cos(turn)[:, None, None], torch.sin(turn)[:, None, None]
    wx = smooth_noise(B, N, 5, 1, dev, g) * U(0, 1.3)[:, None, None]; wy = smooth_noise(B, N, 5, 1, dev, g) * U(0, 1.3)[:, None, None]
    wx = wx + smooth_noise(B, N, 26, 1, dev, g) * U(0, .25)[:, None, None]; wy = wy + smooth_noise(B, N, 26, 1, dev, g) * U(0, .25)[:, None, None]
    mid = base_d * 0.52
    X = ct * gx + st * gy + wx + R(0, 2.0)[:, None, None]; Y = -st * gx + ct * gy + wy + R(0, 2.5)[:, None, None] + mid[:, None, None]
    # distance to the curve, arc length along it, coarse
    n2 = N // 4
    Xc = F.interpolate(X[:, None], size=(n2, n2), mode='bilinear', align_corners=True)[:, 0].reshape(B, -1); Yc = F.interpolate(Y[:, None], size=(n2, n2), mode='bilinear', align_corners=True)[:, 0].reshape(B, -1)
    cp = torch.cat([curve[:, 0, ::3].flip(1), curve[:, 1, ::3]], 1); ca = torch.cat([-arc[:, 0, ::3].flip(1), arc[:, 1, ::3]], 1)
    d2 = (Xc[:, :, None] - cp[:, None, :, 0]) ** 2 + (Yc[:, :, None] - cp[:, None, :, 1]) ** 2
    dmin, im = d2.min(2)
    near = cp.gather(1, im[..., None].expand(-1, -1, 2)); aa = ca.gather(1, im)
    hw = torch.where(Xc < 0, cw[0][:, None], cw[1][:, None]); hd = torch.where(Xc < 0, cd[0][:, None], cd[1][:, None]); hp = torch.where(Xc < 0, cpw[0][:, None], cpw[1][:, None])
    inside = (Yc > hd * (Xc.abs() / hw + 1e-6).pow(hp)) & (Xc.abs() < 1.12 * hw)
    dist = torch.where(inside, -1.0, 1.0) * dmin.sqrt()
    up = lambda z: F.interpolate(z.reshape(B, 1, n2, n2), size=(N, N), mode='bilinear', align_corners=True)[:, 0]
    D = up(dist); S = up(aa)
    e = lambda v: v[:, None, None]
    # soft tissue
    gum0 = -R(5.2, .8).clamp(3.4, 7.5) * scale[:, 0]
    ridge_b, ridge_l = U(3.2, 6.5), U(3.0, 6.5)
    buc = (D - e(ridge_b)).clamp_min(0); lin = (-D - e(ridge_l)).clamp_min(0)
    slope_b, slope_l = U(.5, 4), U(.4, 3)
    zb = e(slope_b) * buc * (1 + .03 * buc)
    depth = torch.where(jaw, U(6, 16), U(8, 25))
    zl = e(depth) * (1 - torch.exp(-e(slope_l) * lin / e(depth)))
    # the floor of the mouth comes up again (tongue), the palate has rugae and a raphe
    zl = zl - torch.where(e(jaw), torch.zeros_like(zl), e(U(0, .8)) * (lin - 6).clamp_min(0))
    ruga = torch.sin(Y * e(U(.9, 1.9)) + X.abs() * e(U(-.5, .8)) + 2 * smooth_noise(B, N, 6, 1, dev, g) + e(U(0, 6.3)))
    ruga = e(U(0, .7)) * ruga.clamp_min(-.3) * torch.sigmoid(lin - 2) * torch.sigmoid((e(U(8, 24)) - Y) / 2) * e(jaw.float())
    gum = e(gum0) - zb - zl + ruga + smooth_noise(B, N, 14, 1, dev, g) * e(U(0, .5)) + smooth_noise(B, N, 7, 1, dev, g) * e(U(0, .9))
    anterior = torch.exp(-(S / e(U(10, 20))) ** 4)
    gum = gum + anterior * torch.where(e(jaw), e(U(-.8, 1.0)) * torch.sigmoid(-D), -e(U(0, 3.0)))
    # frena and folds of the vestibule
    gum = gum + e(U(0, 3)) * torch.exp(-((S - e(R(0, 15))) / e(U(.6, 2.5))) ** 2) * torch.sigmoid(D - 5)
    # papillae: towards the middle of a tooth the gum is lower
    z = gum.clone(); label = torch.zeros(B, N, N, dtype=torch.long, device=dev)
    local = []
    pap = U(.3, 3.0); best = torch.full_like(gum, 1e9); bm = torch.ones_like(gum)
    for t in range(T):
        dx = X - e(c[:, t, 0]); dy = Y - e(c[:, t, 1])
        m = dx * e(ax_m[:, t, 0]) + dy * e(ax_m[:, t, 1]); b = dx * e(ax_b[:, t, 0]) + dy * e(ax_b[:, t, 1])
        local.append((m, b))
        r = torch.where(e(present[:, t]), (m / e(md[:, t])) ** 2 + (b / e(bl[:, t])) ** 2, torch.full_like(m, 1e9))
        near_t = r < best; best = torch.where(near_t, r, best); bm = torch.where(near_t, (m / e(md[:, t] / 2)).abs(), bm)
    gum = gum + e(pap) * (bm.clamp(0, 1.2) ** 3 - 0.6) * torch.exp(-(D / 5.5) ** 2)
    # saddles where teeth are missing are a little lower and rounder; done by the ridge itself
    # behind the last tooth: pad or tuberosity; anywhere: bumps of tissue
    last = torch.stack([torch.where(present[:, 8 * h:8 * h + 8], s[:, 8 * h:8 * h + 8] + md[:, 8 * h:8 * h + 8] / 2, torch.zeros(B, 8, device=dev)).max(1)[0] for h in (0, 1)], 1)
    for h in (0, 1):
        for _ in range(2):
            q, tq = at((last[:, h] + U(1.5, 9))[:, None], h)
            px, py = q[:, 0, 0] + R(0, 1.5), q[:, 0, 1] + R(0, 1.)
            rr = ((X - e(px)) / e(U(3, 6))) ** 2 + ((Y - e(py)) / e(U(3, 7))) ** 2
            gum = gum + e(torch.where(chance(.7), U(0, 6.5), torch.zeros(B, device=dev))) * torch.exp(-rr ** e(U(1, 2)))
    for _ in range(5):
        px, py = U(-38, 38), U(-8, 50); rr = ((X - e(px)) / e(U(.8, 7))) ** 2 + ((Y - e(py)) / e(U(.8, 9))) ** 2
        gum = gum + e(torch.where(chance(.3), U(-1, 9), torch.zeros(B, device=dev))) * torch.exp(-rr) * torch.sigmoid((D.abs() - 5.5) * 2)
    # crowns
    worn = torch.where(chance(.3), U(0, .9), torch.zeros(B, device=dev)); cuspy = U(.4, 1.7); groovy = U(.1, 1.1)
    zt = torch.full((B, T, N, N), -1e3, device=dev)
    softplus = lambda v, w: w * F.softplus(v / w)
    shape_n = U(2.1, 3.4, B, T); inner = U(.62, .84, B, T)
    for t in range(T):
        m, b = local[t]; kk = int(k[t]); hm, hb = md[:, t] / 2 * U(.97, 1.04), bl[:, t] / 2
        mu = m / e(hm); 
        taper = e(R(0, .07)); hbm = e(hb) * (1 + taper * mu.clamp(-1.3, 1.3))
        bu = b / hbm
        n = e(shape_n[:, t])
        if kk < 3:  # the plan of front teeth: narrower towards the tongue
            w_ = 1 - e(U(.10, .42)) * torch.sigmoid(-4 * (bu + .1)); mu_ = mu / w_
        else:
            w_ = 1 - e(torch.where(jaw, U(0, .22), R(0, .06))) * torch.sigmoid(-3 * bu); mu_ = mu / w_
        r = ((mu_.abs() + 1e-4) ** n + (bu.abs() + 1e-4) ** n) ** (1 / n)
        chh = e(U(3.6, 6.2))
        if kk < 3:
            b0 = e(torch.where(jaw, U(.3, 1.0), U(-.25, .8)))
            bend = e(U(-.05, .35)) * mu.abs().clamp_max(1.2) ** 2
            edge = bu - (b0 - bend)
            lab = softplus(edge, .05); lin_ = softplus(-edge, .05)
            # labial side: steep; lingual side: hollow, then the cingulum
            fall = (e(torch.where(jaw, U(2.0, 7), U(3.0, 7.5))) / (1.05 - b0).clamp_min(.25)) * (lab * .5 + .5 * lab ** 2 / (1.05 - b0).clamp_min(.25))
            fl = e(torch.where(jaw, U(2.4, 5.2), U(3.6, 7.5))) / (1 + b0) * lin_ - e(U(0, .8)) * torch.exp(-((lin_ - e(U(.7, 1.2))) / .3) ** 2)
            occ = -fall - fl
            rim = e(U(.5, .85)); occ = occ + e(U(0, .8)) * torch.exp(-((mu_.abs() - rim) / e(U(.1, .25))) ** 2) * torch.sigmoid((-edge - .15) * 10)
            occ = occ + e(U(0, .5) * (1.6 if kk == 2 else .3)) * torch.exp(-(mu / e(U(.12, .3))) ** 2) * torch.sigmoid((-edge - .2) * 8)
            if kk == 2:
                occ = occ - e(U(.15, .9)) * e(hm) * torch.sqrt(mu ** 2 + .04)
            else:
                occ = occ - e(U(0, .18)) * e(hm) * mu.abs() ** 2 - e(U(.3, 1.5)) * softplus(mu.abs() - .78, .06) * 4
            occ = torch.minimum(occ, torch.zeros_like(occ) - e(worn)) + e(worn)
            wall = chh * (r / 1.02).clamp_max(2) ** e(U(7, 18))
        else:
            if kk < 5:
                low1 = ~jaw & torch.tensor(kk == 3, device=dev)
                cus = [(0., .50, 0.), (0., -.52, -1.)]
                drop = torch.where(low1, U(1.2, 3.2), U(.2, 1.6))
            else:
                cus = [(-.45, .5, 0.), (.45, .52, -.3), (-.45, -.5, -.2), (.48, -.5, -.8)]
                drop = U(0, 1.2)
            basin = e(cuspy) * 1.5 * ((r / e(inner[:, t])).clamp_max(1.0) ** 2 - 1)
            occ = basin * (0.55 if kk < 5 else .75)
            for (cm, cb, hh) in cus:
                cm_ = e(cm + R(0, .08)); cb_ = e(cb + R(0, .06)); am = e(cuspy * U(.5, 1.4))
                rr = ((mu - cm_) / e(U(.26, .5))) ** 2 + ((bu - cb_) / e(U(.22, .42))) ** 2
                occ = occ + (am + 0) * torch.exp(-rr) + (hh * e(drop) * .6) * torch.exp(-rr / 2)
            if kk >= 5 or True:
                # central groove and cross grooves
                bend = e(R(0, .1)) * mu
                occ = occ - e(groovy) * torch.exp(-((bu - bend) / e(U(.06, .2))) ** 2) * torch.sigmoid((.72 - mu.abs()) * 12)
                if kk >= 5:
                    for sgn in (1., -1.):
                        pos = e(R(0, .14)); occ = occ - e(groovy) * e(U(.3, 1.)) * torch.exp(-((mu - pos) / e(U(.07, .2))) ** 2) * torch.sigmoid((sgn * bu - .1) * 10)
            fill = e(torch.where(chance(.08), U(.6, 1.), torch.zeros(B, device=dev)))
            occ = occ * (1 - fill) - .2 * fill
            occ = torch.minimum(occ, -e(worn) * .8 + .15 * occ)
            pb = torch.where(jaw, U(3, 10), U(2., 6)); pl = torch.where(jaw, U(2.5, 8), U(3.5, 11))
            pw = torch.where(bu > 0, e(pb), e(pl))
            wall = chh * (r / 1.03).clamp_max(2) ** pw
        zt[:, t] = torch.where(e(present[:, t]) & (r < 1.25), e(top[:, t]) + occ - wall + e(tilt_m[:, t]) * m + e(tilt_b[:, t]) * b, torch.full_like(occ, -1e3))
    zmax, arg = zt.max(1)
    isT = zmax > gum
    z = torch.where(isT, zmax, gum); label = torch.where(isT, arg + 1, torch.zeros_like(arg))
    # flaps of cheek and bubbles over everything
    fl = torch.zeros_like(z)
    for _ in range(2):
        s0 = R(0, 28); wl = U(3, 14)
        sheet = e(U(-9, 1.5)) - ((D - e(U(6, 12))).abs() / e(U(.6, 3))) ** 2
        sheet = torch.where(e(chance(.22)) & ((S - e(s0)).abs() < e(wl)), sheet, torch.full_like(sheet, -1e3))
        hit = sheet > z; z = torch.where(hit, sheet, z); label = torch.where(hit, torch.zeros_like(label), label)
    # what was scanned
    nz = smooth_noise(B, N, 20, 1, dev, g)
    db = U(3.5, 14)[:, None, None] + nz * e(U(0, 2.5)); dl = torch.where(e(jaw & chance(.75)), torch.full_like(nz, 60), e(U(4, 18)) + nz.roll(7, 2) * e(U(0, 2.5)))
    db = torch.where(e(chance(.15)), db.clamp_max(5), db)
    ext = torch.stack([last[:, h] + U(-2.5, 14) for h in (0, 1)], 1)
    sl = torch.where(S > 0, e(ext[:, 1]), e(ext[:, 0])) + nz.roll(31, 1) * 1.2
    # where front teeth lean outwards their labial gum is out of sight
    hide = e(torch.where(jaw, chance(.75), chance(.4))); front = torch.exp(-(S / e(U(12, 40))) ** 4)
    db = torch.where(hide, db * (1 - front) + front * e(U(-.8, 4.5)), db)
    mask = ((D < db) | ((label > 0) & (D < 9))) & (D > -dl) & (S.abs() < sl)
    # a palate ends behind along a line across
    ymax = torch.maximum(curve[:, 0, -1, 1], curve[:, 1, -1, 1]) * U(.6, 1.0)
    mask &= ~((D < -9) & (Y > e(ymax)))
    for _ in range(3):
        px, py = U(-35, 35), U(-5, 45); rr = ((X - e(px)) / e(U(.8, 4))) ** 2 + ((Y - e(py)) / e(U(.8, 4))) ** 2
        mask &= ~(e(chance(.12)) & (rr < 1))
    # a part of an arch only
    part = chance(.05); cut = R(0, 12); sg = torch.where(chance(.5), 1., -1.)
    mask &= ~(e(part) & (S * e(sg) < e(cut)))
    # tilt of the viewing direction
    ti = torch.where(chance(.7), U(0, .10), U(0, .36)); ta = U(0, 2 * math.pi)
    z = z + e(ti * torch.cos(ta)) * gx + e(ti * torch.sin(ta)) * gy
    # what scanning and thinning do to a surface
    z = z + torch.randn(z.shape, device=dev, generator=g) * e(torch.where(chance(.5), U(0, .05), torch.zeros(B, device=dev)))
    out = z.clone()
    for i, sig in enumerate((0.5, 1.0, 1.6)):
        kx = torch.arange(-4, 5, device=dev).float(); w = torch.exp(-kx ** 2 / 2 / sig ** 2); w = w / w.sum()
        zb_ = F.conv2d(F.pad(z[:, None], (4, 4, 4, 4), mode='replicate'), w.view(1, 1, 1, 9)); zb_ = F.conv2d(zb_, w.view(1, 1, 9, 1))[:, 0]
        pick = chance(.25); out = torch.where(e(pick), zb_, out)
    lo = int(torch.randint(64, 160, (1,), device=dev, generator=g))
    coarse = F.interpolate(F.interpolate(out[:, None], size=(lo, lo), mode='bilinear', align_corners=True), size=(N, N), mode='bilinear', align_corners=True)[:, 0]
    out = torch.where(e(chance(.5)), coarse, out)
    label = torch.where(mask, label, torch.zeros_like(label))
    # teeth of which less than 4 mm2 are seen are none
    flat = label.reshape(B, -1); area = torch.zeros(B, T + 1, device=dev).scatter_add_(1, flat, torch.ones_like(flat, dtype=torch.float))
    small = area * PX * PX < 4.0
    label = torch.where(small.gather(1, flat).reshape(B, N, N), torch.zeros_like(label), label)
    flat = label.reshape(B, -1); cnt = torch.zeros(B, T + 1, device=dev).scatter_add_(1, flat, torch.ones_like(flat, dtype=torch.float)).clamp_min(1)
    cxm = torch.zeros(B, T + 1, device=dev).scatter_add_(1, flat, gx.reshape(B, -1)) / cnt; cym = torch.zeros(B, T + 1, device=dev).scatter_add_(1, flat, gy.reshape(B, -1)) / cnt
    ox = cxm.gather(1, flat).reshape(B, N, N) - gx; oy = cym.gather(1, flat).reshape(B, N, N) - gy
    return out, mask, label, torch.stack([ox, oy], 1), jaw


def channels(z, mask):
    """what the net sees: mask, height, height above its neighbourhood at two sizes, steepness; no frame but up"""
    m = mask.float()
    def blur(sig):
        kr = int(3 * sig / PX + .5); kx = torch.arange(-kr, kr + 1, device=z.device).float() * PX; w = torch.exp(-kx ** 2 / 2 / sig ** 2); w = w / w.sum()
        def b(v):
            v = F.conv2d(F.pad(v[:, None], (kr, kr, 0, 0)), w.view(1, 1, 1, -1)); return F.conv2d(F.pad(v, (0, 0, kr, kr)), w.view(1, 1, -1, 1))[:, 0]
        return b(z * m) / b(m).clamp_min(1e-3)
    z = torch.where(mask, z, torch.zeros_like(z))
    b1, b2, b3 = blur(1.2), blur(4.0), blur(12.0)
    zx = torch.zeros_like(z); zy = torch.zeros_like(z)
    zx[:, :, 1:-1] = (z[:, :, 2:] - z[:, :, :-2]) / (2 * PX); zy[:, 1:-1] = (z[:, 2:] - z[:, :-2]) / (2 * PX)
    nz = 1 / torch.sqrt(1 + zx ** 2 + zy ** 2)
    return torch.stack([m, ((z - b1) * 2).clamp(-3, 3) * m, ((z - b2) / 2).clamp(-3, 3) * m, ((z - b3) / 4).clamp(-3, 3) * m, nz * m], 1)
