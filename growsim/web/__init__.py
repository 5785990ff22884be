"""The front door for those who never open a terminal: a page on this computer.

Belongs here: routes, forms made from the models of `spec`, templates, what keeps the page safe. Does not belong here:
arithmetic, sentences about results, anything fetched from the network. May import: everything below but `room`; heavy
libraries only inside functions. Modules: `app` (the house of the page), `guard` (who may ask), `folder` (which files
may be touched), `pages` (templates), `forms` (what a form sends); then one module for each part of the page.
"""
