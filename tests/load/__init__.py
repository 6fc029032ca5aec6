"""The service under the load of a whole firm, and what its pages cost at ten times the size: `make load`.

The production stack (proxy, two web servers, worker, clockwork, PostgreSQL over TCP, Redis) on this computer, filled with a
large invented firm. First every office page is asked for alone, beside a bare page of the shell, Django's admin list of the
same rows and what of it its statements take, at a tenth of the size and at the whole. Then office, engineers and
customers use it together for some minutes, and it is counted whether the data are what the requests say.
"""
