/* Software data protection: the code sequences (AT28C256, section 6.6.2 and the figures of its algorithms). */
#ifndef PROTECTION_H
#define PROTECTION_H

/* Loads the three codes that switch protection on, or that open a protected chip for the page that follows. */
void protection_load_prefix(void);
/* Loads the six codes that switch protection off. */
void protection_load_release(void);

#endif
