/* The user's own key, and signing with it. */
#ifndef CLI_SIGNER_H
#define CLI_SIGNER_H

#include "call.h"

/* Where the key lies in the user's configuration, and the one that it took the place of; NULL: nowhere. */
char *cli_key_path(cli_pool *pool);
char *cli_key_path_before(cli_pool *pool);
/* $XDG_CONFIG_HOME/glassine, else ~/.config/glassine, made where it is missing, for its owner alone. */
glassine_status cli_key_folder(cli_call *call);

/* What is written through the bundle is signed, if the user has a key and did not say --unsigned. The keys belong to
 * the call, which outlives the bundle. Asks for a passphrase where the key wants one. */
glassine_status cli_sign_with(cli_call *call, glassine_bundle *bundle);
/* The user's key; *key is NULL where there is none, or --unsigned was said. */
glassine_status cli_own_key(cli_call *call, const glassine_key **key);
void cli_forget_keys(cli_call *call);

/* Warns where something that the draft says will not count, since it is in the name of one who signs. */
void cli_warn_unsigned(cli_call *call, glassine_draft *draft);

/* A passphrase for a new key, asked for twice; from a file that GLASSINE_PASSPHRASE_FILE names, once. */
glassine_status cli_new_passphrase(cli_call *call, const char **passphrase);

#endif
