//! Whom we believe over TLS: the machine's own authorities and, if the settings name one, the farm's.
//!
//! One provider (ring), named here and not installed for the whole process, so that no other crate's
//! choice matters. Certificates are always checked; there is no way to turn that off.

use std::path::Path;
use std::sync::Arc;

use rustls::pki_types::pem::PemObject;
use rustls::pki_types::{CertificateDer, PrivateKeyDer};
use rustls::{ClientConfig, RootCertStore};

/// What a client needs to begin TLS. `ca` is a PEM file of authorities to trust besides the machine's.
pub fn client(ca: Option<&Path>) -> Result<Arc<ClientConfig>, String> {
    client_as(ca, None)
}

/// The same for a server that wants to know us, by a certificate and its key (PEM files).
pub fn client_as(
    ca: Option<&Path>,
    identity: Option<(&Path, &Path)>,
) -> Result<Arc<ClientConfig>, String> {
    let mut roots = RootCertStore::empty();
    let (_taken, _unreadable) =
        roots.add_parsable_certificates(rustls_native_certs::load_native_certs().certs);
    if let Some(path) = ca {
        add(&mut roots, path)?;
    }
    if roots.is_empty() {
        return Err(
            "this machine knows no certificate authority: install the package ca-certificates, \
             or name the farm's own with ca"
                .to_owned(),
        );
    }
    let provider = Arc::new(rustls::crypto::ring::default_provider());
    let asked = ClientConfig::builder_with_provider(provider)
        .with_safe_default_protocol_versions()
        .map_err(|e| format!("TLS cannot be used: {e}"))?
        .with_root_certificates(roots);
    let Some((certificate, key)) = identity else {
        return Ok(Arc::new(asked.with_no_client_auth()));
    };
    let secret = PrivateKeyDer::from_pem_file(key).map_err(|why| {
        format!("the key file {} cannot be used: {why}; it must be PEM", key.display())
    })?;
    let config =
        asked.with_client_auth_cert(certificates(certificate)?, secret).map_err(|why| {
            let (certificate, key) = (certificate.display(), key.display());
            format!(
                "the certificate {certificate} and the key {key} cannot be used together: {why}"
            )
        })?;
    Ok(Arc::new(config))
}

fn add(roots: &mut RootCertStore, path: &Path) -> Result<(), String> {
    for certificate in certificates(path)? {
        roots.add(certificate).map_err(|why| wrong(path, &why.to_string()))?;
    }
    Ok(())
}

fn certificates(path: &Path) -> Result<Vec<CertificateDer<'static>>, String> {
    let found = CertificateDer::pem_file_iter(path).and_then(Iterator::collect);
    let found: Vec<CertificateDer<'static>> = found.map_err(|why| wrong(path, &why.to_string()))?;
    if found.is_empty() {
        return Err(wrong(path, "it holds no certificate"));
    }
    Ok(found)
}

fn wrong(path: &Path, why: &str) -> String {
    format!("the certificate file {} cannot be used: {why}; it must be PEM", path.display())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_without_a_certificate_is_named() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("farm-ca.pem");
        std::fs::write(&path, "not a certificate").unwrap();
        let why = client(Some(&path)).unwrap_err();
        assert_eq!(
            why,
            format!(
                "the certificate file {} cannot be used: it holds no certificate; it must be PEM",
                path.display()
            )
        );
    }
}
