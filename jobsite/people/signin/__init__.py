"""Signing in: which means, how often it may be tried, how long it lasts. The pages are allauth's in our words.

Every way in, and what holds for each:

- password, at /accounts/login/: tries are counted (`tries`), and whoever set up a second step is asked for it;
- passkey, at /accounts/2fa/webauthn/login/: the device itself asks for a finger, a face or a PIN, so that it is two steps;
- the link of an invitation or a forgotten password, by e-mail (`reset_links`): sets a password and signs nobody in;
- a personal token, at /api/v1/ only (`people.AccessToken`): made by somebody signed in whose password was asked again, and
  refused while its person lacks the second step that the firm asks of them;
- a private link of a customer: opens one thing, and is no sign-in.

There is no other: no admin site, no questions about somebody's mother, no code by telephone.
"""
