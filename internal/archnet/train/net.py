import torch, torch.nn as nn, torch.nn.functional as F
class Block(nn.Module):
    def __init__(s, i, o):
        super().__init__()
        s.a = nn.Conv2d(i, o, 3, padding=1, bias=False); s.na = nn.BatchNorm2d(o)
        s.b = nn.Conv2d(o, o, 3, padding=1, bias=False); s.nb = nn.BatchNorm2d(o)
    def forward(s, x):
        x = F.relu(s.na(s.a(x))); return F.relu(s.nb(s.b(x)))
class Net(nn.Module):
    def __init__(s, cin=5, w=(12, 24, 48, 72, 96), classes=17):
        super().__init__()
        s.enc = nn.ModuleList([Block(cin if i == 0 else w[i - 1], w[i]) for i in range(len(w))])
        s.dec = nn.ModuleList([Block(w[i] + w[i + 1], w[i]) for i in range(len(w) - 1)])
        s.out = nn.Conv2d(w[0], classes + 2, 1); s.jaw = nn.Linear(w[-1], 1); s.classes = classes
    def forward(s, x):
        xs = []
        for i, e in enumerate(s.enc):
            if i: x = F.max_pool2d(x, 2)
            x = e(x); xs.append(x)
        jaw = s.jaw(x.mean((2, 3)))[:, 0]
        for i in reversed(range(len(s.dec))):
            x = F.interpolate(x, scale_factor=2, mode='nearest'); x = s.dec[i](torch.cat([xs[i], x], 1))
        o = s.out(x)
        return o[:, :s.classes], o[:, s.classes:], jaw
