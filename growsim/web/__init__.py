"""The front door for those who never open a terminal: a page on this computer.

It stands on top of the command line: what somebody fills in becomes the words of a command, which its own reader
judges. Belongs here: routes, forms made from `scenario`, templates, what keeps the page safe. Does not belong here:
arithmetic, sentences about results, anything fetched from the network. May import: everything below but `room`; heavy
libraries only inside functions. Modules: `command` (`growsim page`), `app` (the house of the page), `guard` (who may
ask, and how much), `folder` (which files may be touched), `pages` (templates); then a folder for each part of the page.
README.md beside this file says what holds for all of them.
"""
