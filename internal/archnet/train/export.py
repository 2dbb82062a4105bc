import torch, numpy as np, sys
s=torch.load(sys.argv[1],map_location='cpu')['net']; out=[]
def fold(pre,c,n):
    w=s[pre+c+'.weight']; g=s[pre+n+'.weight']; b=s[pre+n+'.bias']; m=s[pre+n+'.running_mean']; v=s[pre+n+'.running_var']
    k=g/torch.sqrt(v+1e-5); out.append((w*k[:,None,None,None]).numpy().reshape(-1)); out.append((b-m*k).numpy())
for i in range(5):
    fold('enc.%d.'%i,'a','na'); fold('enc.%d.'%i,'b','nb')
for i in range(4):
    fold('dec.%d.'%i,'a','na'); fold('dec.%d.'%i,'b','nb')
out.append(s['out.weight'].numpy().reshape(-1)); out.append(s['out.bias'].numpy())
a=np.concatenate(out).astype('<f2'); assert np.isfinite(a).all(); a.tofile(sys.argv[2]); print(len(a), np.abs(a).max())
