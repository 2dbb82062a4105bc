import sys, time, math, torch, numpy as np
import torch.nn.functional as F
sys.path.insert(0, __import__('os').path.dirname(__file__))
import synth; from net import Net
dev = 'cuda'; secs = float(sys.argv[1]); out = sys.argv[2]; W = (16, 32, 64, 96, 128)
torch.manual_seed(1); g = torch.Generator(device=dev); g.manual_seed(7)
torch.backends.cudnn.benchmark = True
net = Net(w=W).to(dev, memory_format=torch.channels_last)
if len(sys.argv) > 3: net.load_state_dict(torch.load(sys.argv[3], map_location=dev)['net'])
opt = torch.optim.AdamW(net.parameters(), lr=3e-3, weight_decay=1e-4)
t0 = time.time(); it = 0; B = 128; ema = None
cls_of = torch.tensor([0] + [1, 2, 3, 4, 5, 6, 7, 8] * 2, device=dev)
make = torch.compile(synth.batch) if False else synth.batch
while time.time() - t0 < secs:
    frac = (time.time() - t0) / secs
    for gp in opt.param_groups: gp['lr'] = 3e-3 * min(1, (it + 1) / 200) * (0.5 * (1 + math.cos(math.pi * frac)) + .003)
    with torch.no_grad():
        z, m, lab, off, jaw = make(B, dev, g); x = synth.channels(z, m); y = cls_of[lab]; y = torch.where((y > 0) & ~jaw[:, None, None], y + 8, y)
    with torch.autocast('cuda', dtype=torch.bfloat16):
        c, o, j = net(x.contiguous(memory_format=torch.channels_last))
    c = c.float(); o = o.float(); j = j.float()
    ce = F.cross_entropy(c, y, reduction='none', label_smoothing=.01)
    # the rim of a tooth weighs more
    e = (F.max_pool2d(lab.float()[:, None], 3, 1, 1) != -F.max_pool2d(-lab.float()[:, None], 3, 1, 1))[:, 0].float()
    w = m.float() * (1 + 1.5 * e); l1 = (ce * w).sum() / w.sum()
    t = (lab > 0).float()[:, None]; l2 = (F.smooth_l1_loss(o, off / 5, reduction='none', beta=.1) * t).sum() / t.sum()
    l3 = F.binary_cross_entropy_with_logits(j, jaw.float())
    loss = l1 + 1.5 * l2 + .1 * l3
    opt.zero_grad(set_to_none=True); loss.backward(); torch.nn.utils.clip_grad_norm_(net.parameters(), 1.0); opt.step()
    it += 1
    if it % 1000 == 0: torch.save({'net': net.state_dict(), 'w': W}, out)
    if it % 300 == 0:
        with torch.no_grad():
            pr = c.argmax(1); acc = ((pr == y) & m).sum() / m.sum(); ta = ((pr == y) & (y > 0)).sum() / (y > 0).sum(); fg = (((pr > 0) == (y > 0)) & m).sum() / m.sum()
        print('%5.0fs it %d loss %.3f ce %.3f off %.4f jaw %.3f acc %.3f fg %.3f toothclass %.3f' % (time.time() - t0, it, loss.item(), l1.item(), l2.item(), l3.item(), acc, fg, ta), flush=True)
torch.save({'net': net.state_dict(), 'w': W}, out)
