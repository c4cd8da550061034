# bash completion for glassine. The program itself says what may stand there: verbs, types, fields, and the labels
# and contributors of the bundle that the line names.

_glassine() {
    # COMP_WORDS is cut at "=" and ":" (COMP_WORDBREAKS); name=value is one word to the program.
    local line=${COMP_LINE:0:COMP_POINT} words=() typed cut candidates=() word
    local index joined=
    for ((index = 1; index <= COMP_CWORD; index++)); do
        word=${COMP_WORDS[index]}
        if [[ -n $joined && ( $word == [=:] || ${COMP_WORDS[index - 1]} == [=:] ) && $line != *" $word" ]]; then
            words[${#words[@]} - 1]+=$word
        else
            words+=("$word")
        fi
        joined=1
    done
    typed=${words[${#words[@]} - 1]}
    local plain=()
    for word in "${words[@]}"; do
        eval "plain+=($(_glassine_unquoted "$word"))" 2>/dev/null || plain+=("$word")
    done
    mapfile -t candidates < <("${COMP_WORDS[0]}" --complete "${plain[@]}" 2>/dev/null)
    # bash replaces only what follows the last "=" or ":".
    cut=${typed%"${typed##*[=:]}"}
    COMPREPLY=()
    for word in "${candidates[@]}"; do
        word=${word#"$cut"}
        [[ $word == *= ]] && compopt -o nospace 2>/dev/null
        COMPREPLY+=("$(printf '%q' "$word")")
    done
    if ((${#COMPREPLY[@]} == 0)); then
        compopt -o default 2>/dev/null
    fi
}

# A word as it was typed, in a form that is safe to evaluate: quotes and backslashes mean what they mean, nothing else.
_glassine_unquoted() {
    case $1 in
    *[\$\`\(\)\;\&\|\<\>\{\}\*\?\!\~]*) printf '%q' "$1" ;;
    \"*\" | \'*\' | *\\*) printf '%s' "$1" ;;
    *) printf '%q' "${1#[\"\']}" ;;
    esac
}

complete -F _glassine glassine
