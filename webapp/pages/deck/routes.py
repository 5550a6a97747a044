"""The pages that only an accuracy test has."""

from webapp.pages.deck import compared_page, deck_page, edition_page, tapes_page

LIMITS = {"/compared": edition_page.LIMIT + 64 * 1024}
PAGES = tuple(module.page for module in (deck_page, tapes_page, compared_page, edition_page))
