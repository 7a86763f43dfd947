"""The guide sites, the catalogue and how they are put in place: everything that becomes a page or a file.

Lives here: page layout, styles, scripts, search, editions, the one adapter to the site generator, the
switch of `site/`. May not live here: computing a figure, judging a finding, wording a step.
"""
