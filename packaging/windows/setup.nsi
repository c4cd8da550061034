; The installer for 64-bit Windows 10 and later, by makensis. It is for one user, and asks for no administrator's rights.
; Given by -D: VERSION; FOLDER, where glassine.exe, glassine.ico and licences/ are; OUT.
Target amd64-unicode
SetCompressor /SOLID lzma
Name "Glassine"
OutFile "${OUT}"
Icon "${FOLDER}/glassine.ico"
UninstallIcon "${FOLDER}/glassine.ico"
RequestExecutionLevel user
InstallDir "$LOCALAPPDATA\Programs\Glassine"
InstallDirRegKey HKCU "Software\Glassine" "Folder"
AllowSkipFiles off
BrandingText "Glassine ${VERSION}"
CompletedText "A double click now shows a bundle. Commands: Start menu, Glassine command line."
VIProductVersion "${VERSION}.0"
VIAddVersionKey "ProductName" "Glassine"
VIAddVersionKey "FileDescription" "Installs Glassine"
VIAddVersionKey "FileVersion" "${VERSION}"
VIAddVersionKey "LegalCopyright" "MIT licence"

!define KIND "Glassine.bundle"
!define CLASSES "Software\Classes"
!define PATHS "Software\Microsoft\Windows\CurrentVersion\App Paths\glassine.exe"
!define PROGRAMS "Software\Microsoft\Windows\CurrentVersion\Uninstall\Glassine"

Page directory
Page instfiles
UninstPage uninstConfirm
UninstPage instfiles

!macro TellExplorer
  ; SHCNE_ASSOCCHANGED
  System::Call 'shell32::SHChangeNotify(i 0x08000000, i 0, p 0, p 0)'
!macroend

Section
  SetOutPath "$INSTDIR\licences"
  File "${FOLDER}/licences/*.txt"
  SetOutPath "$INSTDIR"
  File "${FOLDER}/glassine.exe"
  WriteUninstaller "$INSTDIR\uninstall.exe"
  WriteRegStr HKCU "Software\Glassine" "Folder" "$INSTDIR"

  ; A double click shows a bundle in the browser.
  WriteRegStr HKCU "${CLASSES}\.glassine" "" "${KIND}"
  WriteRegStr HKCU "${CLASSES}\.glassine" "Content Type" "application/vnd.glassine+zip"
  WriteRegStr HKCU "${CLASSES}\${KIND}" "" "Glassine bundle"
  WriteRegStr HKCU "${CLASSES}\${KIND}\DefaultIcon" "" "$INSTDIR\glassine.exe,0"
  WriteRegStr HKCU "${CLASSES}\${KIND}\shell\open\command" "" '"$INSTDIR\glassine.exe" "%1"'
  !insertmacro TellExplorer

  ; The program is a command. The user's PATH stays as it is: what is here cut off long ones.
  WriteRegStr HKCU "${PATHS}" "" "$INSTDIR\glassine.exe"
  SetOutPath "$DOCUMENTS"
  CreateShortcut "$SMPROGRAMS\Glassine command line.lnk" "$SYSDIR\cmd.exe" \
    '/K "set "PATH=$INSTDIR;%PATH%"& glassine help"' "$INSTDIR\glassine.exe" 0
  SetOutPath "$INSTDIR"

  WriteRegStr HKCU "${PROGRAMS}" "DisplayName" "Glassine"
  WriteRegStr HKCU "${PROGRAMS}" "DisplayVersion" "${VERSION}"
  WriteRegStr HKCU "${PROGRAMS}" "DisplayIcon" "$INSTDIR\glassine.exe,0"
  WriteRegStr HKCU "${PROGRAMS}" "Publisher" "The glassine project"
  WriteRegStr HKCU "${PROGRAMS}" "UninstallString" '"$INSTDIR\uninstall.exe"'
  WriteRegStr HKCU "${PROGRAMS}" "QuietUninstallString" '"$INSTDIR\uninstall.exe" /S'
  WriteRegDWORD HKCU "${PROGRAMS}" "NoModify" 1
  WriteRegDWORD HKCU "${PROGRAMS}" "NoRepair" 1
SectionEnd

; Takes away what was installed and nothing else: bundles, keys and other files in the folder stay.
Section "Uninstall"
  Delete "$INSTDIR\glassine.exe"
  Delete "$INSTDIR\licences\*.txt"
  RMDir "$INSTDIR\licences"
  Delete "$INSTDIR\uninstall.exe"
  RMDir "$INSTDIR"
  Delete "$SMPROGRAMS\Glassine command line.lnk"
  ReadRegStr $0 HKCU "${CLASSES}\.glassine" ""
  StrCmp $0 "${KIND}" 0 others
    DeleteRegKey HKCU "${CLASSES}\.glassine"
  others:
  DeleteRegKey HKCU "${CLASSES}\${KIND}"
  DeleteRegKey HKCU "${PATHS}"
  DeleteRegKey HKCU "${PROGRAMS}"
  DeleteRegKey HKCU "Software\Glassine"
  !insertmacro TellExplorer
SectionEnd
